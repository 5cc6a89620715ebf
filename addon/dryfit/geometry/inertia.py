"""Volume and centre of solids: exact for triangles (divergence theorem), no sampling."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from ..model.arrays import FloatArray, IntArray
from .areas import area_vectors
from .rows import dot_rows, row_means, row_sums


@dataclass(frozen=True)
class Bulk:
    """A volume and where its centre is.

    Attributes
    ----------
    volume_mm3
        May be negative for a closed surface that looks inward.
    centre_mm
        ``(3,)``; nan where the volume is zero.
    """

    volume_mm3: float
    centre_mm: FloatArray

    def scaled(self, factor: float) -> "Bulk":
        """Return the same place with its volume times ``factor``."""
        return Bulk(self.volume_mm3 * factor, self.centre_mm)


NOTHING = Bulk(0.0, np.full(3, np.nan))


def closed_bulk(vertices_mm: FloatArray, faces: IntArray) -> Bulk:
    """Return what closed faces enclose, positive when they look outward.

    Tetrahedra from the vertices' middle to each face; exact for any closed mesh (Zhang & Chen 2001,
    doi 10.1109/ICIP.2001.958278).
    """
    if not len(faces):
        return NOTHING
    pivot = vertices_mm[faces].reshape(-1, 3).mean(axis=0)
    corners = vertices_mm[faces] - pivot
    sizes = dot_rows(corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6.0
    return _gathered(sizes, row_sums(corners) / 4.0, pivot)


def prism_bulk(top_mm: FloatArray, foot_mm: FloatArray) -> Bulk:
    """Return what lies between triangles ``(q, 3, 3)`` that look outward and their feet ``(q, 3, 3)`` on the base.

    Each triangle is swept from its foot to its place; the swept area is a quadratic of the height, so Simpson's rule
    over three slices is exact. A triangle that looks at the base, the underside of an overhang, counts as negative:
    what it sweeps is not the piece's.
    """
    slices = (foot_mm, (foot_mm + top_mm) / 2.0, top_mm)
    run = row_means(top_mm - foot_mm)
    parts = [
        (share * dot_rows(area_vectors(cut), run) / 6.0, row_means(cut))
        for share, cut in zip((1.0, 4.0, 1.0), slices, strict=True)
    ]
    sizes = np.concatenate([size for size, _ in parts])
    return _gathered(sizes, np.concatenate([centre for _, centre in parts]), np.zeros(3))


def together(bulks: Iterable[Bulk]) -> Bulk:
    """Return several bulks as one."""
    counted = [bulk for bulk in bulks if bulk.volume_mm3 != 0.0]
    if not counted:
        return NOTHING
    sizes = np.array([bulk.volume_mm3 for bulk in counted])
    return _gathered(sizes, np.array([bulk.centre_mm for bulk in counted]), np.zeros(3))


def _gathered(sizes: FloatArray, centres_mm: FloatArray, pivot_mm: FloatArray) -> Bulk:
    volume = float(sizes.sum())
    if volume == 0.0:
        return NOTHING
    return Bulk(volume, pivot_mm + sizes @ centres_mm / volume)
