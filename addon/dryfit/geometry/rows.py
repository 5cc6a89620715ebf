"""Algebra of vectors kept as rows."""

import numpy as np

from ..model.arrays import FloatArray


def dot_rows(a: FloatArray, b: FloatArray) -> FloatArray:
    """Return the inner products of rows, ``(...)`` of ``(..., 3)``."""
    return np.einsum("...i,...i->...", a, b)


def cross_rows(a: FloatArray, b: FloatArray) -> FloatArray:
    """Return the cross products of rows, ``(..., 3)``; several times faster than numpy's."""
    product = np.empty(np.broadcast_shapes(a.shape, b.shape))
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        product[..., i] = a[..., j] * b[..., k] - a[..., k] * b[..., j]
    return product


def unit_rows(rows: FloatArray) -> FloatArray:
    """Return rows ``(k, 3)`` scaled to length 1; zero rows stay zero."""
    length = np.linalg.norm(rows, axis=1, keepdims=True)
    return np.divide(rows, length, out=np.zeros_like(rows), where=length > 0)
