"""How far a triangulated skin is stretched and shortened between two poses."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import FloatArray, IntArray
from .best_engine import best_engine

SLIVER_MM = 0.05
"""A triangle less high than this turns rounding into stretch and is not read."""


@dataclass(frozen=True)
class Stretches:
    """Principal stretches of triangles: length now over length before, 1 where nothing changed.

    Attributes
    ----------
    largest, smallest
        ``(m,)``, along and across the direction that lengthens most; nan where the triangle is a sliver.
    """

    largest: FloatArray
    smallest: FloatArray


class StretchGauge:
    """Triangles at one pose, against which other poses of them are read.

    Parameters
    ----------
    before_mm, faces
        Vertices ``(n, 3)`` and triangles ``(m, 3)``.

    Notes
    -----
    Principal stretches are the singular values of the deformation gradient in the triangle's plane (Ogden 1984,
    Non-linear Elastic Deformations, section 2.2), here in closed form for an upper triangular two by two matrix, so
    that a rigid motion gives 1 to rounding.
    """

    def __init__(self, before_mm: FloatArray, faces: IntArray) -> None:
        self._faces = np.ascontiguousarray(faces, dtype=np.int32)
        base, along, height = self._flat(before_mm)
        sliver = _lowest_height(base, along, height) < SLIVER_MM
        self._base, self._height = np.where(sliver, np.nan, base), np.where(sliver, np.nan, height)
        self._along = along

    def read(self, after_mm: FloatArray) -> Stretches:
        """Return the principal stretches of the triangles on moved vertices ``(n, 3)``, mm."""
        base, along, height = self._flat(after_mm)
        lengthened, raised = base / self._base, height / self._height
        sheared = (along - lengthened * self._along) / self._height
        plus, minus = np.hypot(lengthened + raised, sheared), np.hypot(lengthened - raised, sheared)
        return Stretches(0.5 * (plus + minus), 0.5 * (plus - minus))

    def _flat(self, vertices_mm: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Lay the triangles flat: length of the first edge, third corner along it and above it, each ``(m,)``."""
        return best_engine().lay_flat(np.ascontiguousarray(vertices_mm, dtype=np.float64), self._faces)


def _lowest_height(base: FloatArray, along: FloatArray, height: FloatArray) -> FloatArray:
    longest = np.maximum(base, np.maximum(np.hypot(along, height), np.hypot(base - along, height)))
    lowest: FloatArray = base * height / np.where(longest > 0.0, longest, 1.0)
    return lowest
