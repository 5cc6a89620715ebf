"""Volume and centre of solids: exact for triangles (divergence theorem), no sampling."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from ..model.arrays import FloatArray, IntArray


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
    sizes = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6.0
    return _gathered(sizes, corners.sum(axis=1) / 4.0, pivot)


def prism_bulk(top_mm: FloatArray, foot_mm: FloatArray) -> Bulk:
    """Return what lies between triangles ``(q, 3, 3)`` and their feet ``(q, 3, 3)``; never negative.

    Each prism is cut into three tetrahedra, as in ``prism_volumes_mm3``.
    """
    a, b, c = top_mm[:, 0], top_mm[:, 1], top_mm[:, 2]
    d, e, f = foot_mm[:, 0], foot_mm[:, 1], foot_mm[:, 2]
    corners = np.concatenate([np.stack(points, axis=1) for points in ((a, b, c, d), (b, c, d, e), (c, d, e, f))])
    if not len(corners):
        return NOTHING
    edges = corners[:, 1:] - corners[:, :1]
    sizes = np.abs(np.einsum("ij,ij->i", edges[:, 0], np.cross(edges[:, 1], edges[:, 2]))) / 6.0
    return _gathered(sizes, corners.mean(axis=1), np.zeros(3))


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
