"""What is seen near the face and nobody measured: no design passes beside it."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from ..geometry import Surface
from ..geometry.rows import row_all
from ..model.arrays import FloatArray
from ..model.unmeasured import Unmeasured

NEAR_MM = 30.0
"""What comes closer to the base than this may be worn on it, mm (common practice, no source: glasses stand off 20)."""


@dataclass(frozen=True)
class SeenNear:
    """Something unmeasured, how close to the base it comes, mm, and where ``(x, y, z)``, mm, world space."""

    seen: Unmeasured
    gap_mm: float
    at_mm: tuple[float, float, float]


def seen_near(unmeasured: Iterable[Unmeasured], base: Surface) -> tuple[SeenNear, ...]:
    """Return what was not measured and comes near the base, the nearest first.

    Parameters
    ----------
    unmeasured
        What the scene shows beside the parts; places that are no finite numbers tell nothing of the others.
    base
        The performer's scan.
    """
    placed = ((seen, seen.points_mm[row_all(np.isfinite(seen.points_mm))]) for seen in unmeasured)
    found = [_nearest(seen, points_mm, base) for seen, points_mm in placed if len(points_mm)]
    return tuple(sorted((each for each in found if each.gap_mm <= NEAR_MM), key=lambda each: each.gap_mm))


def _nearest(seen: Unmeasured, points_mm: FloatArray, base: Surface) -> SeenNear:
    near = base.closest(points_mm)
    place = int(np.argmin(near.distance_mm))
    x, y, z = near.point[place].tolist()
    return SeenNear(seen, float(near.distance_mm[place]), (x, y, z))
