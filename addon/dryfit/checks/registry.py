"""The one list of checks, in the order they are asked and reported."""

from . import additive, airway, blink, closure, coverage, edge, sightline, strain
from .check import Check

CHECKS: tuple[Check, ...] = (
    additive.CHECK,
    edge.CHECK,
    closure.CHECK,
    coverage.CHECK,
    strain.CHECK,
    blink.CHECK,
    sightline.CHECK,
    airway.CHECK,
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
