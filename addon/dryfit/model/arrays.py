"""Array types and the one way to freeze an array."""

from typing import Any

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.integer[Any]]
"""Indices; the kernel gives 32 bits, numpy mostly 64."""
BoolArray = npt.NDArray[np.bool_]


def frozen(values: npt.ArrayLike, dtype: npt.DTypeLike) -> npt.NDArray[Any]:
    """Return a read-only, C-contiguous copy of ``values``.

    Parameters
    ----------
    values
        Anything numpy can read, of any shape.
    dtype
        The element type of the copy.

    Raises
    ------
    ValueError, TypeError
        When numpy cannot read ``values`` as ``dtype``.
    """
    array = np.array(values, dtype=dtype, order="C", copy=True)
    array.setflags(write=False)
    return array


def frozen_points(points: npt.ArrayLike) -> FloatArray:
    """Return a read-only ``(n, 3)`` float64 copy, in the unit of the input.

    Raises
    ------
    ValueError
        When the values do not come in threes.
    """
    return frozen(np.asarray(points, dtype=np.float64).reshape(-1, 3), np.float64)


def frozen_faces(faces: npt.ArrayLike) -> IntArray:
    """Return a read-only ``(m, 3)`` int64 copy of triangle corner indices.

    Raises
    ------
    ValueError
        When the indices do not come in threes.
    """
    return frozen(np.asarray(faces, dtype=np.int64).reshape(-1, 3), np.int64)
