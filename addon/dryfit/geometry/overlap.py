"""How much two solids share, counted on a grid: exact enough to not weigh the shared part twice."""

from collections.abc import Callable

import numpy as np

from ..model.arrays import BoolArray, FloatArray
from .inertia import NOTHING, Bulk
from .surface import Surface

CELLS = 60_000
FINEST_MM = 0.2

Inside = Callable[[FloatArray], BoolArray]
"""Points ``(k, 3)`` -> whether each lies in the solid, ``(k,)``."""


def inside_closed(surface: Surface) -> Inside:
    """Return the test of lying inside a closed surface."""
    return lambda points_mm: surface.clearance_mm(points_mm) < 0.0


def between(base: Surface, skin: Surface) -> Inside:
    """Return the test of lying between the base and an open skin over it."""

    def test(points_mm: FloatArray) -> BoolArray:
        answer = base.clearance_mm(points_mm) > 0.0
        above = np.flatnonzero(answer)
        if len(above):
            away = points_mm[above] - base.closest(points_mm[above]).point
            answer[above] = skin.blocked(points_mm[above], away)
        return answer

    return test


def shared_bulk(one: Inside, other: Inside, low_mm: FloatArray, high_mm: FloatArray) -> Bulk:
    """Return what two solids share in a box, by counting the middles of cells that lie in both.

    Parameters
    ----------
    one, other
        The solids.
    low_mm, high_mm
        Corners of a box that holds all they share, ``(3,)``.
    """
    size = high_mm - low_mm
    if not (size > 0.0).all():
        return NOTHING
    cell_mm = max(FINEST_MM, float(np.cbrt(np.prod(size) / CELLS)))
    counts = np.maximum(np.round(size / cell_mm), 1).astype(int)
    lines = [
        low + (np.arange(count) + 0.5) * span / count for low, count, span in zip(low_mm, counts, size, strict=True)
    ]
    cells = np.stack([grid.ravel() for grid in np.meshgrid(*lines, indexing="ij")], axis=1)
    cells = cells[one(cells)]
    shared = cells[other(cells)] if len(cells) else cells
    if not len(shared):
        return NOTHING
    return Bulk(float(len(shared) * np.prod(size / counts)), shared.mean(axis=0))
