"""What a form leaves of the room: how much more may be added at places over the skin, negative where it is over."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..geometry import Closest, Surface
from ..geometry.rows import row_norms, row_sums, unit_rows
from ..model.arrays import FloatArray, IntArray

PASSES = 4
ASIDE_MM = 1.0
ASIDE_SHARE = 0.5
"""A place further aside of every outward line than this, and than this share of its height, stands over no skin."""


@dataclass(frozen=True)
class Left:
    """What is left at some places.

    Attributes
    ----------
    left_mm
        How much more may be added, mm, ``(k,)``; negative where a form is over its room, nan where it is not known.
    foot
        The vertex of the skin nearest below each, ``(k,)``.
    """

    left_mm: FloatArray
    foot: IntArray


@dataclass(frozen=True)
class RoomLeft:
    """The room of one head, held against what stands on it.

    Attributes
    ----------
    base
        The skin, indexed, facing outward.
    outward
        Unit directions that forms grow along, at its vertices, ``(n, 3)``.
    room_mm
        The room at them, ``(n,)``; nan where it is not known.
    """

    base: Surface
    outward: FloatArray
    room_mm: FloatArray

    def at(self, points_mm: FloatArray) -> Left:
        """Return what is left at points ``(k, 3)``, mm, world space.

        The room is a height along outward lines that fan out and draw together, so the line that a point stands on is
        looked for. What is nearest to it counts too: the lesser of the two, for a room may be cautious, never generous.
        """
        feet = self.base.closest(points_mm)
        height = row_norms(points_mm - feet.point)
        beneath = row_sums((points_mm - feet.point) * self._between(self.outward, feet)) < 0.0
        nearest = self._between(self.room_mm, feet) - np.where(beneath, -height, height)
        for _ in range(PASSES):
            along = unit_rows(self._between(self.outward, feet))
            up = row_sums((points_mm - feet.point) * along)
            feet = self.base.closest(points_mm - up[:, None] * along)
        along = unit_rows(self._between(self.outward, feet))
        up = row_sums((points_mm - feet.point) * along)
        aside = row_norms(points_mm - feet.point - up[:, None] * along)
        left = np.minimum(self._between(self.room_mm, feet) - up, nearest)
        left[aside > np.maximum(ASIDE_MM, ASIDE_SHARE * np.abs(up))] = np.nan
        corner = self.base.faces[feet.face, feet.barycentric.argmax(axis=1)]
        return Left(left, np.asarray(corner, dtype=np.int64))

    def _between(self, values: FloatArray, feet: Closest) -> FloatArray:
        """Return values at vertices, ``(n,)`` or ``(n, 3)``, at places between them."""
        corners = values[self.base.faces[feet.face]]
        return np.asarray(np.einsum("kc,kc...->k...", feet.barycentric, corners))
