"""The largest ball that touches a skin from outside and holds no other: how high two skins may grow until they meet.

The shrinking ball of Ma, Bae & Choi 2012 (3D medial axis point approximation using nearest neighbors and the normal
field, Vis Comput 28:7-19, doi 10.1007/s00371-011-0594-7), from the closest point of the surface instead of a sample.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..geometry import Surface
from ..geometry.rows import row_sums
from ..model.arrays import FloatArray, IntArray

PASSES = 12
TOUCH_MM = 1e-3
LEAST_RISE = 0.05
"""What lies flatter before a point than this share of its distance is the skin going on, no other side."""


@dataclass(frozen=True)
class TouchingBalls:
    """The balls that some points touch.

    Attributes
    ----------
    radius_mm
        ``(k,)``; as given where nothing is met.
    face, barycentric
        What each ball touches on its other side: a triangle ``(k,)``, -1 for nothing, and where in it ``(k, 3)``.
    """

    radius_mm: FloatArray
    face: IntArray
    barycentric: FloatArray


def touching_balls(surface: Surface, points_mm: FloatArray, outward: FloatArray, most_mm: FloatArray) -> TouchingBalls:
    """Return the ball that each point of a skin touches.

    Parameters
    ----------
    surface
        The skin.
    points_mm, outward
        Points on it ``(k, 3)``, and outward unit directions there.
    most_mm
        No ball larger than this is looked for, ``(k,)``; a point whose ball is not larger than nothing is left out.
    """
    radius, face = most_mm.copy(), np.full(len(points_mm), -1)
    weights = np.zeros((len(points_mm), 3))
    active = np.flatnonzero(most_mm > TOUCH_MM)
    for _ in range(PASSES):
        if not len(active):
            break
        centres = points_mm[active] + radius[active, None] * outward[active]
        near = surface.closest(centres)
        across = near.point - points_mm[active]
        rise, squared = row_sums(across * outward[active]), row_sums(across**2)
        inside = near.distance_mm < radius[active] - TOUCH_MM
        inside &= rise > LEAST_RISE * np.sqrt(squared)
        active, kept = active[inside], np.flatnonzero(inside)
        radius[active] = np.minimum(0.5 * squared[kept] / rise[kept], radius[active])
        face[active], weights[active] = near.face[kept], near.barycentric[kept]
    return TouchingBalls(radius, face, weights)
