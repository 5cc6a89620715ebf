"""Checked arrays: whatever passes here is safe to hand to compiled code."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from .errors import BadFaces, BadShape, NotFinite
from .rows import row_all, row_any

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int32]
Signs = npt.NDArray[np.int8]
Bytes = npt.NDArray[np.uint8]
Flags = npt.NDArray[np.bool_]

LARGEST = 1e100
"""Coordinates beyond this are refused: their squares leave double precision."""
MOST_FACES = (2**31 - 1) // 3


def as_numbers(name: str, values: npt.ArrayLike, wanted: str) -> Floats:
    """Return values as C-contiguous float64.

    Raises
    ------
    BadShape
        If they are not real numbers.
    """
    try:
        found = np.asarray(values)
        if found.dtype.kind not in "fiub":
            raise TypeError(found.dtype)
        return np.asarray(found, dtype=np.float64, order="C")
    except (TypeError, ValueError) as error:
        raise BadShape(name, wanted, str(error)) from error


def as_rows(name: str, values: npt.ArrayLike) -> Floats:
    """Return finite (k, 3) float64 rows; an empty list is (0, 3).

    Parameters
    ----------
    name : str
        What an error calls the array.
    values : (k, 3) array_like

    Raises
    ------
    BadShape, NotFinite
        If the shape is not (k, 3); if a row is not finite or beyond 1e100.
    """
    rows = as_numbers(name, values, "(k, 3) numbers")
    if rows.size == 0 and rows.ndim in (1, 2) and (rows.ndim == 1 or rows.shape[1] in (0, 3)):
        rows = rows.reshape(0, 3)
    if rows.ndim != 2 or rows.shape[1] != 3:
        raise BadShape(name, "(k, 3) numbers", f"an array of shape {rows.shape}")
    if rows.size and not max(-rows.min(), rows.max()) < LARGEST:
        bad = ~row_all(np.abs(rows) < LARGEST)
        raise NotFinite(name, int(bad.sum()), len(rows), int(bad.argmax()))
    return rows


def as_faces(faces: npt.ArrayLike, vertex_count: int) -> Ints:
    """Return (m, 3) int32 faces whose entries are rows of the vertices.

    Raises
    ------
    BadFaces
        If they are not integers, not triangles, too many, or name a vertex that is not there.
    """
    try:
        found = np.asarray(faces)
    except ValueError as error:
        raise BadFaces(str(error)) from error
    if found.size == 0:
        return np.zeros((0, 3), np.int32)
    if found.dtype.kind not in "iu":
        raise BadFaces(f"they must be integers, not {found.dtype}")
    if found.ndim != 2 or found.shape[1] != 3:
        raise BadFaces(f"they must be (m, 3), not {found.shape}; cut polygons into triangles first")
    if len(found) > MOST_FACES:
        raise BadFaces(f"{len(found)} are more than the {MOST_FACES} that can be indexed")
    if found.min() < 0 or found.max() >= vertex_count:
        wrong = row_any((found < 0) | (found >= vertex_count))
        raise BadFaces(
            f"{int(wrong.sum())} of {len(found)} name vertices outside 0 .. {vertex_count - 1} "
            f"(the first is face {int(wrong.argmax())})"
        )
    return np.array(found, dtype=np.int32, order="C")


def as_limits(limit_mm: npt.ArrayLike, count: int) -> Floats:
    """Return (count,) limits from a scalar, which stays one number in memory, or a column; infinity is allowed.

    Raises
    ------
    BadShape
        If there are neither one nor count of them, or one is not a number.
    """
    limits = as_numbers("limit_mm", limit_mm, "a number or (k,) numbers")
    if limits.ndim > 1 or (limits.ndim == 1 and len(limits) != count):
        raise BadShape("limit_mm", f"one number or ({count},)", f"an array of shape {limits.shape}")
    if np.isnan(limits).any():
        raise BadShape("limit_mm", "numbers", "nan")
    return np.broadcast_to(limits, (count,)) if limits.ndim == 0 else limits


def read_only(array: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """Return a view nobody can write through."""
    view = array.view()
    view.flags.writeable = False
    return view
