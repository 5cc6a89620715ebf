"""An exception: a finding that somebody accepted with a written reason; which findings it covers, fresh or stored."""

import fnmatch
from collections.abc import Iterable
from dataclasses import dataclass

FORMER_REGIONS = {"under the chin": "underside of the chin"}
"""What a region was called when an exception may have been written for it, and what it is called now."""


@dataclass(frozen=True)
class WrittenException:
    """An exception as it is written down; nothing that is raised.

    Attributes
    ----------
    check
        Id of the check whose findings are meant.
    object
        The part they are on: a pattern, empty for every part.
    region
        The region they are at, empty for every region.
    reason
        Why they are accepted.
    by, on
        Who accepted them, and when.
    """

    check: str
    object: str
    region: str
    reason: str
    by: str = ""
    on: str = ""

    def covers(self, check: str, part: str, region: str) -> bool:
        """Tell whether a finding of ``check`` on ``part`` at ``region`` is meant."""
        at = FORMER_REGIONS.get(self.region, self.region)
        return self.check == check and fnmatch.fnmatchcase(part, self.object or "*") and at in ("", region)


def reason_for(exceptions: Iterable[WrittenException], check: str, part: str, region: str) -> str | None:
    """Return the reason of the first exception that covers the finding, or None."""
    return next((each.reason for each in exceptions if each.covers(check, part, region)), None)
