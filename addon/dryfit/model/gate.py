"""Which verdicts hold a design back: from a publish, a render, or a clean exit code."""

from collections.abc import Collection, Mapping
from types import MappingProxyType

from .finding import Status

FAIL_ON: Mapping[str, tuple[Status, ...]] = MappingProxyType(
    {
        **{str(mildest): tuple(Status)[: mildest.rank + 1] for mildest in reversed(Status) if mildest != Status.PASS},
        "never": (),
    }
)
"""The mildest verdict that holds a design back -> every verdict that does."""
AT_RENDER = "dryfit_at_render"
"""The property of a scene that says what its renders do with the verdict."""
STAMP, REFUSE = "stamp", "refuse_"
RENDER_CHOICES = ("", STAMP, *(f"{REFUSE}{word}" for word in (Status.REVIEW, Status.FAIL)))
"""What that property may be; ``""`` leaves renders alone."""


def holds_back(verdict: Status, fail_on: str) -> bool:
    """Tell whether a verdict is at or above ``fail_on``: ``not_checked``, ``review``, ``fail`` or ``never``.

    Raises
    ------
    KeyError
        When ``fail_on`` is none of the four.
    """
    return verdict in FAIL_ON[fail_on]


def unanswered(statuses: Mapping[str, str], required: Collection[str]) -> tuple[str, ...]:
    """Return which of the required checks gave no answer: they were not run, or could not measure.

    Parameters
    ----------
    statuses
        Check id -> status, of the checks that were run.
    required
        Ids of checks.
    """
    none = (None, str(Status.NOT_CHECKED))
    return tuple(check for check in required if statuses.get(check) in none)
