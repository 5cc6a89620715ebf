"""Directions out of one place, some of them held: which points stand in a held one is looked up, not searched for."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..geometry.rows import row_all, row_norms
from ..geometry.sphere_directions import across_directions
from ..model.arrays import BoolArray, FloatArray

CELL = 0.006
"""Side of a cell of the flat map, of which the half sphere's radius is the root of two: 0.34 degrees."""
HALF = 0.5
LEAST_ASIDE = 1e-3


@dataclass(frozen=True)
class Ways:
    """A fan of directions on an equal-area map, each cell of it held or not.

    Attributes
    ----------
    from_mm
        Where they start, ``(3,)``.
    axes
        Unit rows ``(3, 3)``: across, across, and the middle of the fan.
    size
        Cells along a side of the square map.
    cell
        Side of a cell.
    directions
        Unit directions of the cells that lie in the fan, ``(k, 3)``.
    number
        Place in ``directions`` of each cell, ``(size, size)``, -1 outside the fan.
    held
        How far cells are held, ``(size, size)``, 0 to 1: softened, so that borders run between cells.

    Notes
    -----
    Lambert's azimuthal equal-area projection (Snyder 1987, USGS Professional Paper 1395, ch. 24): every cell stands
    for the same solid angle.
    """

    from_mm: FloatArray
    axes: FloatArray
    size: int
    cell: float
    directions: FloatArray
    number: FloatArray
    held: FloatArray

    @classmethod
    def about(
        cls, middle: FloatArray, upright: FloatArray, from_mm: FloatArray, widest_deg: float, cell: float = CELL
    ) -> Ways:
        """Return the fan of all directions up to an angle from a middle one, unit ``(3,)``; none of it held.

        The map stands as ``upright`` ``(3,)`` does, so that a head that is turned takes it along.
        """
        aside = np.cross(upright, middle)
        if np.linalg.norm(aside) < LEAST_ASIDE:
            aside = across_directions(middle)[0]
        aside = aside / np.linalg.norm(aside)
        axes = np.stack([aside, np.cross(middle, aside), middle])
        half = int(np.ceil(2.0 * np.sin(np.radians(widest_deg) / 2.0) / cell))
        side = (np.arange(2 * half) - half + HALF) * cell
        across, upward = np.meshgrid(side, side, indexing="ij")
        squared = across**2 + upward**2
        inside = squared <= (2.0 * np.sin(np.radians(widest_deg) / 2.0)) ** 2
        scale = np.sqrt(np.maximum(1.0 - squared / 4.0, 0.0))
        flat = np.stack([across * scale, upward * scale, 1.0 - squared / 2.0], axis=-1)
        number = np.full(inside.shape, -1)
        number[inside] = np.arange(int(inside.sum()))
        return cls(from_mm, axes, 2 * half, cell, flat[inside] @ axes, number, np.zeros(inside.shape))

    def holding(self, chosen: BoolArray) -> Ways:
        """Return the same fan with some of its directions held, ``(k,)``."""
        held = np.zeros(self.number.shape)
        held[self.number >= 0] = chosen[self.number[self.number >= 0]]
        return replace(self, held=_softened(held))

    def holds(self, points_mm: FloatArray) -> BoolArray:
        """Tell which points ``(k, 3)`` stand in a held direction, ``(k,)``; between cells the nearer half counts."""
        local = (points_mm - self.from_mm) @ self.axes.T
        far = np.maximum(row_norms(local), 1e-12)
        scale = np.sqrt(2.0 / np.maximum(1.0 + local[:, 2] / far, 1e-9)) / far / self.cell
        place = local[:, :2] * scale[:, None] + (self.size / 2 - HALF)
        low = np.floor(place).astype(np.int64)
        rest = place - low
        known = row_all((low >= 0) & (low < self.size - 1))
        row, column = np.clip(low, 0, self.size - 2).T
        across, upward = rest.T
        mixed = (1.0 - across) * ((1.0 - upward) * self.held[row, column] + upward * self.held[row, column + 1])
        mixed += across * ((1.0 - upward) * self.held[row + 1, column] + upward * self.held[row + 1, column + 1])
        return np.asarray(known & (mixed > HALF))


def _softened(held: FloatArray) -> FloatArray:
    """Return a map of 0 and 1 with each cell a mean of its own and its neighbours', in both directions."""
    for axis in (0, 1):
        wide = np.pad(held, [(1, 1) if each == axis else (0, 0) for each in (0, 1)], mode="edge")
        before, after = (np.take(wide, np.arange(start, start + held.shape[axis]), axis=axis) for start in (0, 2))
        held = 0.25 * before + 0.5 * held + 0.25 * after
    return held
