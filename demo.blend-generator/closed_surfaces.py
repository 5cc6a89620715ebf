"""Triangles of closed surfaces made of rings."""

import numpy as np
import numpy.typing as npt

IntArray = npt.NDArray[np.int64]


def lathed_triangles(rings: int, around: int) -> IntArray:
    """Return the triangles of rings between two poles.

    Vertex 0 is the first pole, then ring after ring, then the last pole. With each ring running
    counter-clockwise seen from the last pole, the triangles are counter-clockwise seen from outside.

    Parameters
    ----------
    rings, around
        How many rings, and vertices in each.

    Returns
    -------
    (m, 3) corner indices.
    """
    here = np.arange(around)
    after = (here + 1) % around
    first = np.stack([np.zeros_like(here), 1 + after, 1 + here], axis=1)
    last_ring = 1 + (rings - 1) * around
    last = np.stack([np.full_like(here, last_ring + around), last_ring + here, last_ring + after], axis=1)
    bands = []
    for ring in range(rings - 1):
        low, high = 1 + ring * around, 1 + (ring + 1) * around
        bands.append(np.stack([low + here, low + after, high + after], axis=1))
        bands.append(np.stack([low + here, high + after, high + here], axis=1))
    return np.concatenate([first, *bands, last])
