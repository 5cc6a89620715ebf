"""How thick a piece is at each place of its skin."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import BoolArray, FloatArray, IntArray
from .areas import Facets, area_vectors, signed_volume_mm3, split_evenly
from .rows import dot_rows, row_highs, row_means, row_norms
from .surface import Surface

FACET_MM = 1.0
MOST_PARTS = 8
NUDGE_MM = 1e-3
FACING = 0.966
TINY = 1e-12
MOST_CROSSED = 12
"""How many faces a ray may pass before the answer is given up."""


def fine_facets(triangles_mm: FloatArray, facet_mm: float = FACET_MM) -> Facets:
    """Cut triangles ``(m, 3, 3)`` until edges are about ``facet_mm``, none over 1.5 of it, at most into 64 pieces "
    "each."""
    longest = row_highs(row_norms(triangles_mm - np.roll(triangles_mm, -1, axis=1)))
    return split_evenly(np.clip(np.ceil(longest / facet_mm - 0.5), 1, MOST_PARTS).astype(np.int64))


@dataclass(frozen=True)
class Solid:
    """A closed object of one or more pieces, whose material is everything inside any of them.

    Attributes
    ----------
    triangles_mm
        Its faces facing outward, cavities facing into the cavity, ``(m, 3, 3)``.
    surface
        The same, indexed.
    """

    triangles_mm: FloatArray
    surface: Surface


def solid_of(vertices_mm: FloatArray, faces: IntArray) -> Solid:
    """Return closed faces ``(m, 3)`` as a solid, turned as a whole if they look inward."""
    if signed_volume_mm3(vertices_mm, faces) < 0.0:
        faces = faces[:, ::-1]
    return Solid(vertices_mm[faces], Surface(vertices_mm, faces))


def wall_mm(points_mm: FloatArray, outward: FloatArray, solid: Solid) -> FloatArray:
    """Return the wall ``(k,)`` behind points of a solid's skin: straight in along the normal to where it ends, mm.

    Pieces of a solid that run into each other are one: the ray goes on until it has left as many as it entered. Where
    the two sides aren't parallel to within 15 degrees they meet in an edge or a tip rather than enclose a wall, and
    the answer is inf.

    Parameters
    ----------
    points_mm, outward
        Points on the skin ``(k, 3)`` and the skin's outward directions there ``(k, 3)``, not zero.
    solid
        The whole object.

    Returns
    -------
    ndarray
        nan where the point is buried in another piece, or the ray finds no end: the solid is open there.
    """
    outward = outward / np.linalg.norm(outward, axis=1, keepdims=True)
    walls = np.full(len(points_mm), np.nan)
    going = np.flatnonzero(~material_around(points_mm, outward, solid))
    normals = area_vectors(solid.triangles_mm)
    depth, walked = np.ones(len(points_mm)), np.full(len(points_mm), NUDGE_MM)
    for _ in range(MOST_CROSSED):
        if not len(going):
            break
        inward = -outward[going]
        hit = solid.surface.first_hit(points_mm[going] + walked[going, None] * inward, inward)
        normal = normals[np.maximum(hit.face, 0)]
        facing = dot_rows(inward, normal) / np.maximum(row_norms(normal), TINY)
        walked[going] += np.where(hit.face >= 0, hit.distance_mm, 0.0)
        depth[going] -= np.sign(facing)
        ends = (hit.face >= 0) & (depth[going] <= 0)
        walls[going[ends]] = np.where(facing[ends] >= FACING, walked[going[ends]], np.inf)
        walked[going] += NUDGE_MM
        going = going[(hit.face >= 0) & ~ends]
    return walls


def material_around(points_mm: FloatArray, directions: FloatArray, solid: Solid) -> BoolArray:
    """Mark points ``(k, 3)`` inside a solid: rays along unit ``directions`` leave it more often than they enter.

    Points on the skin itself are judged just beyond it along their direction.
    """
    depth, going = np.zeros(len(points_mm)), np.arange(len(points_mm))
    walked = np.full(len(points_mm), NUDGE_MM)
    normals = area_vectors(solid.triangles_mm)
    for _ in range(MOST_CROSSED):
        if not len(going):
            break
        start = points_mm[going] + walked[going, None] * directions[going]
        hit = solid.surface.first_hit(start, directions[going])
        met = hit.face >= 0
        going = going[met]
        depth[going] += np.sign(dot_rows(directions[going], normals[hit.face[met]]))
        walked[going] += hit.distance_mm[met] + NUDGE_MM
    return depth > 0.0


def facet_walls_mm(facets: Facets, solid: Solid) -> FloatArray:
    """Return the wall ``(q,)`` behind the middle of each facet of a solid's faces, mm; see ``wall_mm``."""
    outward = area_vectors(solid.triangles_mm)[facets.face]
    walls = np.full(len(facets.face), np.nan)
    flat = row_norms(outward) > 0.0
    middles = row_means(facets.of(solid.triangles_mm))
    walls[flat] = wall_mm(middles[flat], outward[flat], solid)
    return walls
