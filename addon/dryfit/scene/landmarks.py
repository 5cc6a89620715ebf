"""Landmarks: Empties that carry a name, overridden by the brief."""

import difflib
import math
from collections.abc import Iterable, Mapping

from ..model.arrays import FloatArray
from ..model.snapshot import LANDMARKS
from .blender import BlenderObject, Depsgraph
from .errors import TwoLandmarks
from .meshes import world_matrix

LANDMARK = "dryfit_landmark"
PROPOSED = "dryfit_landmark_proposed"
"""On an Empty that was proposed and not confirmed: the error to reckon with, mm."""


def landmark_objects(objects: Iterable[BlenderObject]) -> dict[str, BlenderObject]:
    """Return the objects that mark a known landmark, by its name.

    Raises
    ------
    TwoLandmarks
        When two objects claim the same one.
    """
    marked: dict[str, list[BlenderObject]] = {}
    for item in objects:
        name = item.get(LANDMARK)
        if name in LANDMARKS:
            marked.setdefault(name, []).append(item)
    for name, items in marked.items():
        if len(items) > 1:
            raise TwoLandmarks(name, [item.name for item in items])
    return {name: items[0] for name, items in marked.items()}


def landmark_points(
    marked: Mapping[str, BlenderObject], depsgraph: Depsgraph, mm_per_unit: float
) -> dict[str, FloatArray]:
    """Return where the marking objects stand: ``(3,)`` each, mm, world space."""
    return {name: world_matrix(item.evaluated_get(depsgraph))[:3, 3] * mm_per_unit for name, item in marked.items()}


def landmark_errors(marked: Mapping[str, BlenderObject]) -> dict[str, float]:
    """Return the error to reckon with of those that nobody confirmed, mm; inf where the mark is no such number."""
    return {name: _error_mm(item[PROPOSED]) for name, item in marked.items() if PROPOSED in item}


def _error_mm(stored: object) -> float:
    number = float(stored) if isinstance(stored, int | float) else math.inf
    return number if number >= 0.0 else math.inf


def landmark_notes(objects: Iterable[BlenderObject]) -> tuple[str, ...]:
    """Tell which objects carry a landmark name that does not exist."""
    return tuple(
        f"'{item.name}' marks '{item[LANDMARK]}', which is no known landmark{_nearest(item[LANDMARK])}."
        for item in objects
        if item.get(LANDMARK) not in (None, "", *LANDMARKS)
    )


def _nearest(name: object) -> str:
    near = difflib.get_close_matches(str(name), LANDMARKS, 1, cutoff=0.5)
    return f" (nearest: '{near[0]}')" if near else ""
