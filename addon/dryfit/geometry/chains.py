"""Distance to a chain of straight pieces in space."""

from itertools import pairwise

import numpy as np

from ..model.arrays import FloatArray


def distance_to_chain_mm(points_mm: FloatArray, chain_mm: FloatArray) -> FloatArray:
    """Return the distance ``(k,)`` of points ``(k, 3)`` to the chain through corners ``(c, 3)``, c >= 2, mm."""
    nearest = np.full(len(points_mm), np.inf)
    for start, end in pairwise(chain_mm):
        along = end - start
        length2 = float(along @ along)
        share = np.clip((points_mm - start) @ along / length2, 0.0, 1.0) if length2 > 0.0 else np.zeros(len(points_mm))
        foot = start + share[:, None] * along
        np.minimum(nearest, np.linalg.norm(points_mm - foot, axis=1), out=nearest)
    return nearest
