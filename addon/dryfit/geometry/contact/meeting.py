"""Where two triangle meshes pass through each other, as points."""

import numpy as np

from ...model.arrays import FloatArray, IntArray
from ..rows import dot_rows


def meeting_points(
    first_mm: FloatArray, first_faces: IntArray, second_mm: FloatArray, second_faces: IntArray, pairs: IntArray
) -> tuple[FloatArray, IntArray]:
    """Return the ends of the lines along which crossing triangles meet.

    Parameters
    ----------
    first_mm, first_faces, second_mm, second_faces
        The two meshes.
    pairs
        Crossing triangles of the first and the second, ``(p, 2)``.

    Returns
    -------
    points
        ``(k, 3)`` mm: every edge of one triangle where it pierces the other.
    pair
        Which row of ``pairs`` each point belongs to, ``(k,)``.
    """
    one, two = first_mm[first_faces[pairs[:, 0]]], second_mm[second_faces[pairs[:, 1]]]
    found = [_pierced(one, two), _pierced(two, one)]
    return np.concatenate([points for points, _ in found]), np.concatenate([rows for _, rows in found])


def _pierced(edged: FloatArray, plain: FloatArray) -> tuple[FloatArray, IntArray]:
    """Pierce triangles ``plain`` with the edges of ``edged``, pair by pair (Moller & Trumbore 1997)."""
    points, rows = [], []
    side, other = plain[:, 1] - plain[:, 0], plain[:, 2] - plain[:, 0]
    for corner in range(3):
        start, way = edged[:, corner], edged[:, (corner + 1) % 3] - edged[:, corner]
        cross = np.cross(way, other)
        scale = dot_rows(side, cross)
        safe = np.where(np.abs(scale) > 1e-15, scale, np.nan)
        arm = start - plain[:, 0]
        turned = np.cross(arm, side)
        u = dot_rows(arm, cross) / safe
        v = dot_rows(way, turned) / safe
        along = dot_rows(other, turned) / safe
        inside = (u >= 0.0) & (v >= 0.0) & (u + v <= 1.0) & (along >= 0.0) & (along <= 1.0)
        points.append(start[inside] + along[inside, None] * way[inside])
        rows.append(np.flatnonzero(inside))
    return np.concatenate(points), np.concatenate(rows)
