"""The one list of checks, in the order they are asked and reported."""

from .breath import airway
from .casting import load, release, thickness
from .check import Check
from .closure import closure
from .eyes import blink, sightline
from .fit import additive, base_lock, edge, strain
from .interference import interference
from .teeth import coverage

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
