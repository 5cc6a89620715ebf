"""Areas, volumes, solid angles, and the part of a surface on one side of a level, integrated over clipped triangles."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import FloatArray, IntArray
from .rows import cross_rows, dot_rows, row_any, row_means, row_norms, row_sums


def corners(vertices_mm: FloatArray, faces: IntArray) -> FloatArray:
    """Return the faces' corner positions ``(m, 3, 3)``."""
    return vertices_mm[faces]


def area_vectors(triangles_mm: FloatArray) -> FloatArray:
    """Return ``(m, 3)`` normals as long as the areas (mm2) of triangles ``(m, 3, 3)``."""
    a, b, c = triangles_mm[:, 0], triangles_mm[:, 1], triangles_mm[:, 2]
    return cross_rows(b - a, c - a) / 2.0


def areas_mm2(triangles_mm: FloatArray) -> FloatArray:
    """Return the areas ``(m,)`` of triangles ``(m, 3, 3)``, mm2."""
    sizes: FloatArray = row_norms(area_vectors(triangles_mm))
    return sizes


def signed_volume_mm3(vertices_mm: FloatArray, faces: IntArray) -> float:
    """Return the volume inside faces, mm3, positive when they face outward (divergence theorem).

    Exact for closed meshes. For an open one it is the volume of the cone from the mesh's centroid,
    whose sign still tells which way the faces look.
    """
    triangles = corners(vertices_mm, faces)
    triangles = triangles - triangles.reshape(-1, 3).mean(axis=0)
    return float((area_vectors(triangles) * row_means(triangles)).sum() / 3.0)


def solid_angles(triangles: FloatArray, point: FloatArray) -> FloatArray:
    """Return signed solid angles ``(...)`` of triangles ``(..., 3, 3)`` at a point, over 4 pi.

    Van Oosterom & Strackee 1983, https://doi.org/10.1109/TBME.1983.325207
    """
    a, b, c = (triangles[..., i, :] - point for i in range(3))
    x, y, z = (row_norms(side) for side in (a, b, c))
    above = (a * cross_rows(b, c)).sum(axis=-1)
    below = x * y * z + (a * b).sum(axis=-1) * z + (b * c).sum(axis=-1) * x + (c * a).sum(axis=-1) * y
    angle = np.arctan2(above, below) / (2 * np.pi)
    return np.where((above == 0) & (below <= 0), 0.0, angle)


@dataclass(frozen=True)
class Facets:
    """Small triangles cut out of faces.

    Attributes
    ----------
    face
        ``(q,)`` face that each was cut from.
    barycentric
        ``(q, 3, 3)`` the corners in that face's barycentric coordinates.
    """

    face: IntArray
    barycentric: FloatArray

    def of(self, per_corner: FloatArray) -> FloatArray:
        """Interpolate values given at the faces' corners, ``(m, 3, ...)``, to ``(q, 3, ...)``."""
        return np.einsum("qij,qj...->qi...", self.barycentric, per_corner[self.face])

    def within(self, inner: "Facets") -> "Facets":
        """Return facets ``inner`` of these facets, expressed on the original faces."""
        return Facets(self.face[inner.face], inner.barycentric @ self.barycentric[inner.face])


def split_evenly(parts: IntArray) -> Facets:
    """Cut face f into ``parts[f]`` squared equal triangles, ``parts`` ``(m,)`` at least 1."""
    pieces = [_split(np.flatnonzero(parts == count), int(count)) for count in np.unique(parts)]
    return Facets(
        np.concatenate([piece.face for piece in pieces]) if pieces else np.zeros(0, np.int64),
        np.concatenate([piece.barycentric for piece in pieces]) if pieces else np.zeros((0, 3, 3)),
    )


def _split(faces: IntArray, count: int) -> Facets:
    pattern = _lattice(count)
    return Facets(np.repeat(faces, len(pattern)), np.tile(pattern, (len(faces), 1, 1)))


def _lattice(count: int) -> FloatArray:
    steps = [(i, j) for i in range(count) for j in range(count - i)]
    upright = [[(i, j), (i + 1, j), (i, j + 1)] for i, j in steps]
    turned = [[(i + 1, j), (i + 1, j + 1), (i, j + 1)] for i, j in steps if i + j < count - 1]
    second_third = np.array(upright + turned, dtype=np.float64) / count
    return np.concatenate([1.0 - second_third.sum(axis=2, keepdims=True), second_third], axis=2)


def clip_below(values: FloatArray, level: float) -> Facets:
    """Return what of each triangle lies below a level.

    Parameters
    ----------
    values
        ``(m, 3)`` at the triangles' corners, linear between; a triangle with a nan is left out.
    level
        Values under this are kept.
    """
    below = values < level
    count = np.where(row_any(np.isnan(values)), 0, row_sums(below))
    whole = np.flatnonzero(count == 3)
    facets = [Facets(whole, np.tile(np.eye(3), (len(whole), 1, 1)))]
    for kept in (1, 2):
        some = np.flatnonzero(count == kept)
        odd = below[some].argmax(axis=1) if kept == 1 else (~below[some]).argmax(axis=1)
        facets.extend(_cut_corner(some, odd, values[some], level, keep_corner=kept == 1))
    return Facets(np.concatenate([part.face for part in facets]), np.concatenate([part.barycentric for part in facets]))


def _cut_corner(faces: IntArray, odd: IntArray, values: FloatArray, level: float, keep_corner: bool) -> list[Facets]:
    rows = np.arange(len(faces))
    unit = np.eye(3)
    corner, following, before = unit[odd], unit[(odd + 1) % 3], unit[(odd + 2) % 3]
    at = values[rows, odd]
    share = [(level - at) / (values[rows, (odd + step) % 3] - at) for step in (1, 2)]
    cut_on = corner + share[0][:, None] * (following - corner)
    cut_back = corner + share[1][:, None] * (before - corner)
    if keep_corner:
        return [Facets(faces, np.stack([corner, cut_on, cut_back], axis=1))]
    return [
        Facets(faces, np.stack([cut_on, following, before], axis=1)),
        Facets(faces, np.stack([cut_on, before, cut_back], axis=1)),
    ]


def prism_volumes_mm3(top_mm: FloatArray, foot_mm: FloatArray) -> FloatArray:
    """Return the volumes ``(q,)`` between triangles ``(q, 3, 3)`` and their feet ``(q, 3, 3)``, mm3.

    Each corner runs straight to its foot. The swept area is a quadratic of the height, so Simpson's rule
    over three heights is exact, and no diagonal of the sides has to be chosen. Positive where the triangle looks
    away from its feet; the underside of an overhang looks back at them and counts as negative, so that a sum is
    what lies between the skin and the base.
    """
    run = row_means(top_mm - foot_mm)
    middle = (top_mm + foot_mm) / 2.0
    swept = area_vectors(foot_mm) + 4.0 * area_vectors(middle) + area_vectors(top_mm)
    volumes: FloatArray = dot_rows(swept, run) / 6.0
    return volumes


def vertex_areas_mm2(vertices_mm: FloatArray, faces: IntArray) -> FloatArray:
    """Return the area that each vertex stands for, a third of every face about it, ``(n,)``, mm2."""
    each = areas_mm2(vertices_mm[faces]) / 3.0
    return np.asarray(np.bincount(faces.ravel(), np.repeat(each, 3), len(vertices_mm)), dtype=np.float64)
