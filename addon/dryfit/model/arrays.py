"""Array types and the one way to freeze an array."""

from typing import Any

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.integer[Any]]
"""Indices; the kernel gives 32 bits, numpy mostly 64."""
BoolArray = npt.NDArray[np.bool_]


def frozen(values: npt.ArrayLike, dtype: npt.DTypeLike) -> npt.NDArray[Any]:
    """Return a read-only, C-contiguous copy of ``values``; what is one already, and nobody's view, is its own copy.

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
    if isinstance(values, np.ndarray) and is_frozen(values) and values.dtype == dtype and values.flags.c_contiguous:
        return values
    array = np.array(values, dtype=dtype, order="C", copy=True)
    array.setflags(write=False)
    return array


def is_frozen(array: npt.NDArray[Any]) -> bool:
    """Tell whether an array cannot change any more: it is read-only, and no view of one that may not be."""
    return not array.flags.writeable and array.base is None


def frozen_points(points: npt.ArrayLike) -> FloatArray:
    """Return a read-only ``(n, 3)`` float64 copy, in the unit of the input.

    Raises
    ------
    ValueError
        When the values are no numbers, or do not come in threes.
    """
    return frozen(_in_threes(points), np.float64)


def frozen_faces(faces: npt.ArrayLike) -> IntArray:
    """Return a read-only ``(m, 3)`` int64 copy of triangle corner indices.

    Raises
    ------
    ValueError
        When the indices are no whole numbers, or do not come in threes.
    """
    corners = _in_threes(faces)
    if corners.dtype.kind == "f" and not (np.abs(corners) < 2.0**53).all():  # nor nan
        raise ValueError("corners of faces must be numbers of vertices")
    whole = frozen(corners, np.int64)
    if corners.dtype.kind == "f" and (whole != corners).any():
        raise ValueError("corners of faces must be whole numbers")
    return whole


def _in_threes(values: npt.ArrayLike) -> npt.NDArray[Any]:
    """Return numbers as ``(n, 3)``: rows of three, or one after the other; never rows of another length cut anew.

    Raises
    ------
    ValueError
    """
    array = np.asarray(values)
    if array.size and array.dtype.kind not in "biuf":
        raise ValueError(f"numbers are needed, not {array.dtype}")
    if array.size and array.ndim > 1 and array.shape[-1] != 3:
        raise ValueError(f"rows of three are needed, not an array of shape {array.shape}")
    return array if array.ndim == 2 and array.shape[1] == 3 else array.reshape(-1, 3)
