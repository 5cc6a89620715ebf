"""Marking the lines that draw rims."""

from typing import Any

from ...scene.landmarks import DRAWN, RIM
from ...scene.roles import CAGE, ROLE
from ..kept_properties import keep_property, keeping_refused

NO_LINE = "Make a curve without a bevel, or a mesh of edges, the active object"


def rim_marking_refused(item: Any | None) -> str:
    """Return why an object cannot draw a rim, or ``""``."""
    if item is None or item.type not in DRAWN or item.get(CAGE):
        return NO_LINE
    if len(item.data.polygons) if item.type == "MESH" else item.data.bevel_depth or item.data.extrude:
        return NO_LINE
    return keeping_refused(item, RIM)


def mark_rim(item: Any) -> bool:
    """Let a line draw a rim under its own name, left out of every check; or, where it draws one, none any more."""
    drawn = not item.get(RIM)
    keep_property(item, RIM, item.name if drawn else "")
    if not item.get(ROLE) and drawn:
        keep_property(item, ROLE, "ignore")
    return drawn
