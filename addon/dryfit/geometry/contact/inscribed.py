"""Balls that lie wholly within a solid and touch its skin: what stands for its volume."""

from dataclasses import dataclass

import numpy as np

from ...model.arrays import FloatArray, IntArray
from ..rows import points_at, row_any
from ..sampling import spread_samples
from ..surface import Surface

OFF_MM = 1e-3
"""Rays across a solid start this far within its skin."""
LEAST_MM = 0.02
"""A ball smaller than this is no more than the skin is."""


@dataclass(frozen=True)
class Balls:
    """Balls, each halfway between two places on the skin, so that they can be put on any pose of the same faces.

    Attributes
    ----------
    face
        Triangles of the two places, ``(b, 2)``.
    barycentric
        The places in them, ``(b, 2, 3)``.
    radius_mm
        ``(b,)``, over zero.
    """

    face: IntArray
    barycentric: FloatArray
    radius_mm: FloatArray

    def centres_mm(self, vertices_mm: FloatArray, faces: IntArray) -> FloatArray:
        """Return the middles ``(b, 3)``, mm, on posed vertices ``(n, 3)``."""
        corners = faces[self.face].reshape(-1, 6)
        return points_at(self.barycentric.reshape(-1, 6), vertices_mm, corners) / 2.0


NO_BALLS = Balls(np.zeros((0, 2), np.int64), np.zeros((0, 2, 3)), np.zeros(0))


def balls_in(solid: Surface, spacing_mm: float) -> Balls:
    """Return balls within a solid, found from places on its skin about ``spacing_mm`` apart.

    From each place straight across to the wall opposite, halfway back, and as large as the nearest wall leaves room
    for. A sheet that has no opposite wall holds none.
    """
    faces = np.asarray(solid.faces, dtype=np.int64)
    places = spread_samples(solid.vertices_mm, faces, spacing_mm)
    inward = -solid.normals[places.face]
    start = places.points(solid.vertices_mm, faces) + OFF_MM * inward
    aimed = np.flatnonzero(row_any(inward))
    across = solid.first_hit(start[aimed], inward[aimed])
    met = np.flatnonzero(across.face >= 0)
    pair = np.stack([places.face[aimed[met]], across.face[met]], axis=1)
    ends = np.stack([places.barycentric[aimed[met]], across.barycentric[met]], axis=1)
    balls = Balls(pair.astype(np.int64), ends, np.zeros(len(met)))
    room_mm = np.nan_to_num(-solid.clearance_mm(balls.centres_mm(solid.vertices_mm, faces)))
    kept = room_mm > LEAST_MM
    return Balls(balls.face[kept], balls.barycentric[kept], room_mm[kept])
