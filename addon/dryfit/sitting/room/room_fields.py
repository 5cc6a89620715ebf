"""The values of a room as they are painted: their scales and labels."""

from ..stored_report import StoredField
from .room_names import CHECK, LEFT, ROOM, STOPS

SCALE_MM = 20.0
"""The top of the painted scale: what may stand higher is as good as free for a face piece."""
LEFT_SCALE_MM = 5.0


def room_field(part: str, count: int) -> StoredField:
    """Describe the room on the base."""
    return _field(ROOM, part, "mm", "Room: how much may be added", (0.0, SCALE_MM), count)


def stops_field(part: str, count: int, kinds: int) -> StoredField:
    """Describe what stops forms on the base; values are places in the list of kinds."""
    return _field(STOPS, part, "", "What stops a form", (0.0, float(max(kinds - 1, 1))), count)


def left_field(part: str, count: int) -> StoredField:
    """Describe what a piece has left of the room."""
    scale = (-LEFT_SCALE_MM, LEFT_SCALE_MM)
    return _field(LEFT, part, "mm", "Room left: below zero a form is over it", scale, count, limit=0.0)


def _field(
    name: str, part: str, unit: str, label: str, scale: tuple[float, float], count: int, limit: float | None = None
) -> StoredField:
    return StoredField(
        key=f"{CHECK}/{name}", check=CHECK, name=name, part=part, unit=unit, label=label, low=scale[0], high=scale[1],
        limit=limit, diverging=limit is not None, motion="", t=0.0, count=count,
    )  # fmt: skip
