"""How near what is worn comes to the eyeball."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..geometry import Surface
from ..model.arrays import FloatArray, IntArray
from ..model.snapshot import Part
from .lids import Lids

REACH_MM = 40.0
LOOKS = 4
"""Poses between open and closed lids at which the distance is read, both ends included."""


@dataclass(frozen=True)
class EyeClearance:
    """The nearest worn point to one eyeball.

    Attributes
    ----------
    distance_mm
        Negative inside the eyeball; inf where nothing worn is near.
    t
        The pose.
    part
        Whose point, or None.
    at_mm
        Where, ``(3,)``.
    vertices
        The vertex of the piece, ``(1,)``, or none where it is inside a face.
    """

    distance_mm: float
    t: float
    part: Part | None
    at_mm: FloatArray
    vertices: IntArray


def eye_clearance(lids: Lids, worn: list[Part], last_t: float) -> EyeClearance | None:
    """Return the least distance from worn pieces to the eyeball on the way from t = 0 to ``last_t``.

    Points behind skin, as on the far side of a lid, do not count. None without an eyeball.
    """
    if lids.eye.part is None:
        return None
    nearest = EyeClearance(float("inf"), 0.0, None, lids.eye.apex_mm, np.zeros(0, np.int64))
    for part in worn:
        if np.linalg.norm(part.vertices_mm - lids.eye.entrance_mm, axis=1).min() > REACH_MM:
            continue
        for t in np.linspace(0.0, last_t, LOOKS):
            here = _look(lids, part, float(t))
            nearest = here if here is not None and here.distance_mm < nearest.distance_mm else nearest
    return nearest


def _look(lids: Lids, part: Part, t: float) -> EyeClearance | None:
    ball, moved = lids.eyeball(t), lids.poses.vertices(part.name, t)
    assert ball is not None
    near = np.flatnonzero(np.linalg.norm(moved - lids.eye.entrance_mm, axis=1) < REACH_MM)
    found = [_from_vertices(lids, ball, part, moved, near, t), _from_eyeball(lids, ball, part, moved, t)]
    return min((one for one in found if one is not None), key=lambda one: one.distance_mm, default=None)


def _from_vertices(
    lids: Lids, ball: Surface, part: Part, moved: FloatArray, near: IntArray, t: float
) -> EyeClearance | None:
    """Read at the piece's own vertices, which also tells inside from outside."""
    distance = np.nan_to_num(ball.clearance_mm(moved[near]), nan=np.inf) if len(near) else np.zeros(0)
    bare = _unshielded(lids, moved[near], ball.closest(moved[near]).point, t) if len(near) else np.zeros(0, bool)
    if not bare.any():
        return None
    pick = np.flatnonzero(bare)[distance[bare].argmin()]
    return EyeClearance(float(distance[pick]), t, part, moved[near[pick]], near[[pick]])


def _from_eyeball(lids: Lids, ball: Surface, part: Part, moved: FloatArray, t: float) -> EyeClearance | None:
    """Read at the eyeball's vertices, which catches large faces of the piece."""
    places = ball.vertices_mm
    to_piece = Surface(moved, part.faces).closest(places)
    bare = _unshielded(lids, to_piece.point, places, t)
    if not bare.any():
        return None
    pick = np.flatnonzero(bare)[to_piece.distance_mm[bare].argmin()]
    return EyeClearance(float(to_piece.distance_mm[pick]), t, part, to_piece.point[pick], np.zeros(0, np.int64))


def _unshielded(lids: Lids, start: FloatArray, end: FloatArray, t: float) -> np.ndarray:
    """Tell between which points no skin lies, ``(k,)``; points on the skin itself are shielded."""
    along = end - start
    length = np.linalg.norm(along, axis=1)
    along[length == 0.0] = lids.frame.front
    return ~lids.skin(t).blocked(start, along, length)
