"""Evenly weighted points on triangles, the same ones every time."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import FloatArray, IntArray
from .areas import areas_mm2
from .rows import points_at

PLASTIC = 1.324717957244746
"""The plastic number; its powers give the two-dimensional sequence of Roberts 2018 (R2), in public use."""


@dataclass(frozen=True)
class SurfaceSamples:
    """Points bound to triangles, so that they can be put on any pose of the same faces.

    Attributes
    ----------
    face
        Triangle of each sample, ``(k,)``.
    barycentric
        Place in it, ``(k, 3)``.
    area_mm2
        Surface area that each sample stands for at the pose it was made on, ``(k,)``; adds up to the whole area.
    """

    face: IntArray
    barycentric: FloatArray
    area_mm2: FloatArray

    def points(self, vertices_mm: FloatArray, faces: IntArray) -> FloatArray:
        """Return the sample points ``(k, 3)``, mm, on posed vertices ``(n, 3)``."""
        return points_at(self.barycentric, vertices_mm, faces[self.face])


def sample_surface(vertices_mm: FloatArray, faces: IntArray, spacing_mm: float) -> SurfaceSamples:
    """Return samples about ``spacing_mm`` apart: every triangle gets at least one, large ones more.

    Parameters
    ----------
    vertices_mm, faces
        ``(n, 3)`` mm and ``(m, 3)``.
    spacing_mm
        Wanted distance between neighbours, mm, over zero.

    Notes
    -----
    Deterministic: within a triangle the points follow the R2 low-discrepancy sequence, folded into the triangle.
    A sample carries the area of its triangle divided by the samples there, so sums are exact area integrals of
    whatever is constant on a triangle.
    """
    area = areas_mm2(vertices_mm[faces])
    count = np.maximum(np.ceil(area / spacing_mm**2), 1.0).astype(np.int64)
    face = np.repeat(np.arange(len(faces)), count)
    number = np.arange(len(face)) - np.repeat(np.cumsum(count) - count, count)
    single = np.repeat(count == 1, count)
    return SurfaceSamples(face, _places(number, single), (area / count)[face])


def spread_samples(vertices_mm: FloatArray, faces: IntArray, spacing_mm: float) -> SurfaceSamples:
    """Return samples about ``spacing_mm`` apart however fine the triangles are: small ones share one.

    Parameters
    ----------
    vertices_mm, faces
        ``(n, 3)`` mm and ``(m, 3)``.
    spacing_mm
        Wanted distance between neighbours, mm, over zero.

    Notes
    -----
    Deterministic: the triangles' areas are laid end to end in their order, and every equal stretch of that line gives
    one sample, so that the same triangles give the same samples wherever they stand.
    """
    ends = np.cumsum(areas_mm2(vertices_mm[faces]))
    count = int(np.ceil(ends[-1] / spacing_mm**2)) if len(ends) else 0
    line = (np.arange(count) + 0.5) * (ends[-1] / count) if count else np.zeros(0)
    face = np.searchsorted(ends, line)
    _, group, each = np.unique(face, return_inverse=True, return_counts=True)
    number = np.arange(count) - (np.cumsum(each) - each)[group]
    return SurfaceSamples(face, _places(number, each[group] == 1), np.full(count, ends[-1] / max(count, 1)))


def _places(number: IntArray, single: np.ndarray) -> FloatArray:
    u = (0.5 + number / PLASTIC) % 1.0
    v = (0.5 + number / PLASTIC**2) % 1.0
    fold = u + v > 1.0
    u, v = np.where(fold, 1.0 - u, u), np.where(fold, 1.0 - v, v)
    place = np.stack([1.0 - u - v, u, v], axis=1)
    place[single] = 1.0 / 3.0
    return place
