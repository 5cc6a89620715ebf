"""Rotations spread evenly over all orientations."""

import numpy as np

from ..model.arrays import FloatArray

PHI = np.sqrt(2.0)
PSI = 1.533751168755204288118041


def even_turns(count: int) -> FloatArray:
    """Return ``(count, 3, 3)`` rotation matrices; the same ones every time.

    Notes
    -----
    Super-Fibonacci spirals: Alexa 2022, CVPR, doi 10.1109/CVPR52688.2022.00811.
    """
    place = np.arange(count) + 0.5
    share, turn = place / count, 2.0 * np.pi * place
    one, other = np.sqrt(share), np.sqrt(1.0 - share)
    x, y = one * np.sin(turn / PHI), one * np.cos(turn / PHI)
    z, w = other * np.sin(turn / PSI), other * np.cos(turn / PSI)
    return quaternion_matrices(x, y, z, w)


def quaternion_matrices(x: FloatArray, y: FloatArray, z: FloatArray, w: FloatArray) -> FloatArray:
    """Return rotation matrices ``(n, 3, 3)`` of unit quaternions whose real part is ``w``, ``(n,)`` each."""
    rows = [
        [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
        [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
        [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
    ]
    return np.asarray(np.moveaxis(np.array(rows), -1, 0))
