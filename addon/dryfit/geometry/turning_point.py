"""Where a surface stops rising along a direction: tips, hollows and saddles, found by a quadric."""

import numpy as np

from ..model.arrays import FloatArray
from .rows import row_norms
from .sphere_directions import across_directions

LEAST_POINTS = 12


def turning_point(
    points_mm: FloatArray, near_mm: FloatArray, direction: FloatArray, reach_mm: float
) -> FloatArray | None:
    """Return the turning point ``(3,)`` nearest to a place, or None where the points show none within reach.

    Parameters
    ----------
    points_mm
        ``(n, 3)`` points of the surface; those within ``reach_mm`` of ``near_mm`` are used, the near ones most.
    near_mm
        ``(3,)`` where it should be, about.
    direction
        Unit vector ``(3,)``.
    reach_mm
        Radius of what is looked at.

    Notes
    -----
    A least-squares quadric of height over the plane across the direction; its stationary point in closed form.
    """
    offset = points_mm - near_mm
    far_mm = row_norms(offset)
    offset, far_mm = offset[far_mm < reach_mm], far_mm[far_mm < reach_mm]
    if len(offset) < LEAST_POINTS:
        return None
    u, v = across_directions(direction)
    x, y, height = offset @ u / reach_mm, offset @ v / reach_mm, offset @ direction
    weight = (1.0 - (far_mm / reach_mm) ** 2)[:, None]
    terms = np.stack([np.ones_like(x), x, y, 0.5 * x * x, x * y, 0.5 * y * y], axis=1)
    fit, *_ = np.linalg.lstsq(terms * weight, height * weight[:, 0], rcond=None)
    bend = np.array([[fit[3], fit[4]], [fit[4], fit[5]]])
    step = -np.linalg.pinv(bend, rcond=0.05) @ fit[1:3]
    if np.linalg.norm(step) > 0.75:
        return None
    level = fit[0] + fit[1:3] @ step + 0.5 * step @ bend @ step
    point: FloatArray = near_mm + reach_mm * (step[0] * u + step[1] * v) + level * direction
    return point
