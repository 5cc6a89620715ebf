"""Which findings an exception covers: one rule, for fresh findings and for stored ones."""

import fnmatch
from collections.abc import Iterable

from .snapshot import Acceptance


def covers(acceptance: Acceptance, check: str, part: str, region: str) -> bool:
    """Tell whether an exception covers a finding of ``check`` on ``part`` at ``region``.

    The exception's object is a pattern, empty for every object; an empty region covers every region.
    """
    return (
        acceptance.check == check
        and fnmatch.fnmatchcase(part, acceptance.object or "*")
        and acceptance.region in ("", region)
    )


def reason_for(acceptances: Iterable[Acceptance], check: str, part: str, region: str) -> str | None:
    """Return the reason of the first exception that covers the finding, or None."""
    return next((each.reason for each in acceptances if covers(each, check, part, region)), None)
