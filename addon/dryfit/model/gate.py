"""Which verdicts hold a design back: from a publish, a render, or a clean exit code."""

from collections.abc import Mapping
from types import MappingProxyType

from .finding import Status

FAIL_ON: Mapping[str, tuple[Status, ...]] = MappingProxyType(
    {
        **{str(mildest): tuple(Status)[: mildest.rank + 1] for mildest in (Status.REVIEW, Status.FAIL)},
        "never": (),
    }
)
"""The mildest verdict that holds a design back -> every verdict that does."""
AT_RENDER = "dryfit_at_render"
"""The property of a scene that says what its renders do with the verdict."""
STAMP, REFUSE = "stamp", "refuse_"
RENDER_CHOICES = ("", STAMP, *(REFUSE + word for word, verdicts in FAIL_ON.items() if verdicts))
"""What that property may be; ``""`` leaves renders alone."""


def holds_back(verdict: Status, fail_on: str) -> bool:
    """Tell whether a verdict is at or above ``fail_on``: ``review``, ``fail`` or ``never``.

    Raises
    ------
    KeyError
        When ``fail_on`` is none of the three.
    """
    return verdict in FAIL_ON[fail_on]
