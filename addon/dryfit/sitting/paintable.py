"""What can be painted: the fields that the checks say they may yield, and no others."""

import zlib

from ..checks.check import Check
from ..checks.registry import CHECKS
from .room.room_names import FIELDS as OF_ROOM

FIRST = "clearance"
"""The field that is chosen until somebody chooses another; Live measures it again after each stroke."""

FOUND = "found"
"""What is painted of a finding whose check measures no value over the surface: the place itself."""

_CHECKS = {name: check for check in CHECKS for name, _ in check.painted}

PAINTABLE = frozenset(_CHECKS)
"""Names of all fields."""


AT_RIM = frozenset({"thickness"})
"""Fields whose limit is asked of the rim alone: beyond it, further in, nothing is wrong."""


def painted_items() -> tuple[tuple[str, str, str, str, int], ...]:
    """Return the fields as items of an enumeration, in the order of their checks.

    Files keep an item's number: it comes of the name, so that a check that is added or moved changes no file's choice.
    """
    measured = [pair for check in CHECKS for pair in check.painted]
    pairs = [*measured, *OF_ROOM, (FOUND, "Where the picked finding is, whatever its check measures")]
    return tuple((name, field_label(name), words, "NONE", zlib.crc32(name.encode()) >> 1) for name, words in pairs)


def field_label(name: str) -> str:
    """Return a field's name as a label."""
    return name.replace("_", " ").capitalize()


def measured_by(name: str) -> Check | None:
    """Return the check that yields a field, or None where no check does: a place, or the room."""
    return _CHECKS.get(name)
