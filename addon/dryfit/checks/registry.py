"""The one list of checks, in the order they are asked and reported."""

from . import (
    additive,
    airway,
    base_lock,
    blink,
    closure,
    coverage,
    edge,
    interference,
    load,
    release,
    sightline,
    strain,
    thickness,
)
from .check import Check

CHECKS: tuple[Check, ...] = (
    base_lock.CHECK,
    additive.CHECK,
    edge.CHECK,
    thickness.CHECK,
    closure.CHECK,
    coverage.CHECK,
    interference.CHECK,
    strain.CHECK,
    blink.CHECK,
    sightline.CHECK,
    airway.CHECK,
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
