"""How much two solids share, counted on a grid: exact enough to not weigh the shared part twice."""

from collections.abc import Callable

import numpy as np

from ..model.arrays import BoolArray, FloatArray
from .inertia import NOTHING, Bulk
from .rows import dot_rows, row_norms
from .surface import Surface
from .wall import Solid, material_around

CELLS = 30_000
FINEST_MM = 0.2
FOOT_SLACK_MM = 0.05
SKEW = np.array([0.2672, 0.5345, 0.8018])
SKEW /= np.linalg.norm(SKEW)

Inside = Callable[[FloatArray], BoolArray]
"""Points ``(k, 3)`` -> whether each lies in the solid, ``(k,)``."""


def inside_closed(solid: Solid) -> Inside:
    """Return the test of lying inside a closed object, by rays along one skew direction."""
    return lambda points_mm: material_around(points_mm, np.broadcast_to(SKEW, points_mm.shape), solid)


def between(base: Surface, skin: Surface) -> Inside:
    """Return the test of lying between the base and an open skin over it: beneath a skin point, on its way to the base.

    A point qualifies when the skin, met straight away from the base, has the same base point beneath it; so what lies
    in a mouth or beyond the rim does not.
    """

    def test(points_mm: FloatArray) -> BoolArray:
        near = base.closest(points_mm)
        answer = dot_rows(points_mm - near.point, base.normals[near.face]) > 0.0
        above = np.flatnonzero(answer)
        if len(above):
            away = points_mm[above] - near.point[above]
            reach = skin.first_hit(points_mm[above], away).distance_mm
            answer[above] = np.isfinite(reach)
            found = np.flatnonzero(np.isfinite(reach))
            height = row_norms(away[found])
            top = points_mm[above[found]] + away[found] * (reach[found] / height)[:, None]
            answer[above[found]] = base.closest(top).distance_mm > height + reach[found] - FOOT_SLACK_MM
        return answer

    return test


def shared_bulk(one: Inside, other: Inside, low_mm: FloatArray, high_mm: FloatArray) -> Bulk:
    """Return what two solids share in a box, by counting the middles of cells that lie in both.

    Parameters
    ----------
    one, other
        The solids; ``one`` is asked first and should be the cheaper.
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
