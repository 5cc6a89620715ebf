"""How thick a piece is at each place of its skin."""

import numpy as np

from ..model.arrays import FloatArray
from .areas import Facets, area_vectors, split_evenly
from .surface import Surface

FACET_MM = 1.0
MOST_PARTS = 8
NUDGE_MM = 1e-3
FACING = 0.5


def fine_facets(triangles_mm: FloatArray, facet_mm: float = FACET_MM) -> Facets:
    """Cut triangles ``(m, 3, 3)`` until edges are about ``facet_mm``, none over 1.5 of it, at most into 64 pieces "
    "each."""
    longest = np.linalg.norm(triangles_mm - np.roll(triangles_mm, -1, axis=1), axis=2).max(axis=1)
    return split_evenly(np.clip(np.ceil(longest / facet_mm - 0.5), 1, MOST_PARTS).astype(np.int64))


def wall_mm(points_mm: FloatArray, outward: FloatArray, solid: Surface) -> FloatArray:
    """Return the wall ``(k,)`` behind points of a solid's skin: straight in along the normal to the far side, mm.

    Where the far side isn't turned against the near one to within 60 degrees the two meet in an edge rather than
    enclose a wall, and the answer is inf.

    Parameters
    ----------
    points_mm, outward
        Points on the skin ``(k, 3)`` and the skin's outward directions there ``(k, 3)``, not zero.
    solid
        The whole piece.

    Returns
    -------
    ndarray
        nan where the ray leaves without meeting a far side: the piece is open there.
    """
    inward = -outward / np.linalg.norm(outward, axis=1, keepdims=True)
    hit = solid.first_hit(points_mm + NUDGE_MM * inward, inward)
    facing = np.einsum("ij,ij->i", inward, solid.normals[np.maximum(hit.face, 0)])
    walls = np.where(facing >= FACING, hit.distance_mm + NUDGE_MM, np.inf)
    return np.where(hit.face >= 0, walls, np.nan)


def facet_walls_mm(triangles_mm: FloatArray, facets: Facets, solid: Surface) -> FloatArray:
    """Return the wall ``(q,)`` behind the middle of each facet of triangles ``(m, 3, 3)`` that look outward, mm."""
    outward = area_vectors(triangles_mm)[facets.face]
    walls = np.full(len(facets.face), np.nan)
    flat = np.linalg.norm(outward, axis=1) > 0.0
    middles = facets.of(triangles_mm).mean(axis=1)
    walls[flat] = wall_mm(middles[flat], outward[flat], solid)
    return walls
