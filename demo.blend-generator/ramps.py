"""Smooth rises between two values."""

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


def smooth_step(values: FloatArray, low: float, high: float) -> FloatArray:
    """Return 0 below ``low``, 1 above ``high`` and a smooth rise (3s2 - 2s3) between."""
    share = np.clip((values - low) / (high - low), 0.0, 1.0)
    rise: FloatArray = share * share * (3.0 - 2.0 * share)
    return rise
