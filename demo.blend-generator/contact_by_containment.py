"""Where the jaw stops, found the slow and plain way: which sample points of a tooth lie inside another tooth.

The winding number of a closed surface around a point is the sum of its triangles' solid angles over 4 pi
(van Oosterom & Strackee 1983, IEEE Trans Biomed Eng 30(2):125-126): 1 inside, 0 outside.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from .dentition import Row
from .performer import jaw_turned

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

COARSE_STEP = 0.02
FINE_STEP = 0.0005


def first_contact_t(lower: Row, upper: Row, tusks: Sequence[int]) -> float:
    """Return the greatest opening, coming from wide open, at which a tusk and an upper tooth share a point.

    Parameters
    ----------
    lower, upper
        The rows, jaw closed.
    tusks
        FDI numbers of the lower teeth that may meet the upper row.
    """
    t = next(t for t in np.arange(1.0, -COARSE_STEP, -COARSE_STEP) if _touching(lower, upper, tusks, t))
    clear, touching = t + COARSE_STEP, t
    while clear - touching > FINE_STEP:
        middle = (clear + touching) / 2.0
        if _touching(lower, upper, tusks, middle):
            touching = middle
        else:
            clear = middle
    return float(touching)


def _touching(lower: Row, upper: Row, tusks: Sequence[int], t: float) -> bool:
    for fdi in tusks:
        mine, my_faces = _crown(lower, fdi)
        mine = jaw_turned(mine, t)
        for tooth in upper.teeth:
            other, faces = _crown(upper, tooth.fdi)
            if _boxes_meet(mine, other) and (
                _any_inside(_samples(mine, my_faces), other, faces)
                or _any_inside(_samples(other, faces), mine, my_faces)
            ):
                return True
    return False


def _crown(row: Row, fdi: int) -> tuple[FloatArray, IntArray]:
    tooth = next(tooth for tooth in row.teeth if tooth.fdi == fdi)
    mine = ((row.faces >= tooth.first) & (row.faces < tooth.last)).all(axis=1)
    return row.vertices_mm[tooth.first : tooth.last], row.faces[mine] - tooth.first


def _samples(vertices: FloatArray, faces: IntArray) -> FloatArray:
    corners = vertices[faces]
    middles = (corners + np.roll(corners, -1, axis=1)) / 2.0
    return np.concatenate([vertices, middles.reshape(-1, 3), corners.mean(axis=1)])


def _boxes_meet(one: FloatArray, other: FloatArray) -> bool:
    return bool((one.min(axis=0) <= other.max(axis=0)).all() and (other.min(axis=0) <= one.max(axis=0)).all())


def _any_inside(points: FloatArray, vertices: FloatArray, faces: IntArray) -> bool:
    boxed = ((points >= vertices.min(axis=0)) & (points <= vertices.max(axis=0))).all(axis=1)
    return bool(boxed.any() and (winding_number(points[boxed], vertices, faces) > 0.5).any())


def winding_number(points: FloatArray, vertices: FloatArray, faces: IntArray) -> FloatArray:
    """Return how often a closed surface goes around each point ``(k, 3)``: 1 inside, 0 outside."""
    a, b, c = (vertices[faces[:, corner]][None] - points[:, None] for corner in range(3))
    lengths = [np.linalg.norm(side, axis=2) for side in (a, b, c)]
    volume = np.einsum("ijk,ijk->ij", a, np.cross(b, c))
    base = (
        lengths[0] * lengths[1] * lengths[2]
        + (a * b).sum(axis=2) * lengths[2]
        + (b * c).sum(axis=2) * lengths[0]
        + (c * a).sum(axis=2) * lengths[1]
    )
    turns: FloatArray = np.arctan2(volume, base).sum(axis=1) / (2.0 * np.pi)
    return turns
