"""The one list of checks, in the order they are asked and reported."""

from . import additive, base_lock, closure, coverage, edge, load, release, thickness
from .check import Check

CHECKS: tuple[Check, ...] = (
    base_lock.CHECK,
    additive.CHECK,
    edge.CHECK,
    thickness.CHECK,
    closure.CHECK,
    coverage.CHECK,
    load.CHECK,
    release.CHECK,
)


def check_named(check_id: str) -> Check:
    """Return the check with that id.

    Raises
    ------
    KeyError
        When there is none.
    """
    for check in CHECKS:
        if check.id == check_id:
            return check
    raise KeyError(check_id)
