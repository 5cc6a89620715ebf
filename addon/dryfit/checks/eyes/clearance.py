"""How near what is worn comes to the eyeball."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain

import numpy as np

from ...geometry import Surface
from ...geometry.rows import row_any, row_norms
from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.snapshot import Part
from ...performer.lids import Lids
from ...performer.motion.posed import Posed
from ...performer.worn import worn_face_ids

REACH_MM = 40.0
LOOKS = 4
"""Poses between open and closed lids at which the distance is read, both ends included."""


SKIN_MM = 0.01
"""What lies on the skin counts as so far outside it."""


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
    kept, alone = lids.fitting.kept, lids.fitting.alone
    looks = [kept.of(_look, part, lids.on(alone(part)), last_t) for part in worn]
    nearest = EyeClearance(float("inf"), 0.0, None, lids.eye.apex_mm, np.zeros(0, np.int64))
    for at_once in zip(*looks, strict=True):
        for here in chain(*at_once):
            nearest = here if here is not None and here.distance_mm < nearest.distance_mm else nearest
    return nearest


Read = tuple[EyeClearance | None, ...]
"""What was read of one piece at one pose: at its own vertices, and at the eyeball's."""


def _look(part: Part, lids: Lids, last_t: float) -> tuple[Read, ...]:
    """Return what is read of a piece at each pose on the way to ``last_t``; nothing where it is not near."""
    near, times = Nearby.of(part, lids), np.linspace(0.0, last_t, LOOKS).tolist()
    if near is None:
        return ((),) * LOOKS
    balls = ((t, lids.eyeball(t)) for t in times)
    return tuple((_from_vertices(lids, ball, near, t), _from_eyeball(lids, ball, near, t)) for t, ball in balls)


@dataclass(frozen=True)
class Nearby:
    """What of a worn piece is near an eye at rest.

    Attributes
    ----------
    vertex_ids
        Vertices of the part, ``(n,)``.
    faces
        Triangles over those, ``(m, 3)``.
    posed
        Where they are at any t.
    """

    part: Part
    vertex_ids: IntArray
    faces: IntArray
    posed: Posed

    @classmethod
    def of(cls, part: Part, lids: Lids) -> Nearby | None:
        """Return what is near, or None."""
        faces = part.faces[worn_face_ids(part, lids.fitting)]
        close = row_norms(part.vertices_mm - lids.eye.entrance_mm) < REACH_MM
        faces = faces[row_any(close[faces])]
        if not len(faces):
            return None
        used, compact = np.unique(faces, return_inverse=True)
        return cls(part, used, compact.reshape(-1, 3), lids.poses.following(part.name, used))


def _from_vertices(lids: Lids, ball: Surface, near: Nearby, t: float) -> EyeClearance | None:
    """Read at the piece's own vertices, which also tells inside from outside."""
    moved = near.posed(t)
    clearance_mm, closest = ball.clearance_and_closest(moved)
    distance = np.nan_to_num(clearance_mm, nan=np.inf)
    bare = _unshielded(lids, moved, closest.point, t)
    if not bare.any():
        return None
    pick = np.flatnonzero(bare)[distance[bare].argmin()]
    return EyeClearance(float(distance[pick]), t, near.part, moved[pick], near.vertex_ids[[pick]])


def _from_eyeball(lids: Lids, ball: Surface, near: Nearby, t: float) -> EyeClearance | None:
    """Read at the eyeball's vertices, which catches large faces of the piece."""
    places = ball.vertices_mm
    to_piece = Surface(near.posed(t), near.faces).closest(places)
    bare = _unshielded(lids, to_piece.point, places, t)
    if not bare.any():
        return None
    pick = np.flatnonzero(bare)[to_piece.distance_mm[bare].argmin()]
    return EyeClearance(float(to_piece.distance_mm[pick]), t, near.part, to_piece.point[pick], np.zeros(0, np.int64))


def _unshielded(lids: Lids, start: FloatArray, end: FloatArray, t: float) -> BoolArray:
    """Tell between which points no skin lies, ``(k,)``; points on the skin itself are shielded."""
    along = end - start
    length = row_norms(along)
    along[length == 0.0] = lids.frame.front
    # a point that rides on the skin may come to stand a rounding error below it
    back = SKIN_MM * along / np.linalg.norm(along, axis=1, keepdims=True)
    return ~lids.skin(t).blocked(start - back, along, length + SKIN_MM)
