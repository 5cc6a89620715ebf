"""Exact questions to single triangles, many pairs at once."""

from __future__ import annotations

import numpy as np

from ..checked_arrays import Bytes, Flags, Floats
from ..rows import cross_rows, dot_rows


def closest_on_segment(a: Floats, b: Floats, p: Floats) -> tuple[Floats, Floats]:
    """Return squared distances and parameters in [0, 1] of the closest points of segments to points."""
    ab = b - a
    length2 = dot_rows(ab, ab)
    s = np.divide(dot_rows(p - a, ab), length2, out=np.zeros_like(length2), where=length2 > 0).clip(0, 1)
    gap = np.where((s < 1)[:, None], a + s[:, None] * ab, b) - p
    return dot_rows(gap, gap), s


def closest_on_triangle(triangles: Floats, p: Floats) -> tuple[Floats, Floats, Bytes]:
    """Return squared distance, weights, and feature of the closest point of each (k, 3, 3) triangle to each point."""
    k = np.arange(len(p))
    squared, weights, feature = np.full(len(p), np.inf), np.zeros((len(p), 3)), np.zeros(len(p), np.uint8)
    for side in range(3):
        after = (side + 1) % 3
        found, s = closest_on_segment(triangles[:, side], triangles[:, after], p)
        better = found < squared
        row = k[better]
        squared[row], weights[row] = found[better], 0
        weights[row, side], weights[row, after] = 1 - s[better], s[better]
        kind = np.where(s <= 0, 4 + side, np.where(s >= 1, 4 + after, 1 + side))
        feature[row] = kind[better]
    a, b, c = (triangles[:, i] - p for i in range(3))
    n = cross_rows(b - a, c - a)
    n2 = dot_rows(n, n)
    u, v = dot_rows(n, cross_rows(b, c - b)), dot_rows(n, cross_rows(c, a - c))
    flat = n2 > 1e-24 * dot_rows(b - a, b - a) * dot_rows(c - a, c - a)
    row = k[(u > 0) & (v > 0) & (n2 - u - v > 0) & flat]
    u, v = u[row] / n2[row], v[row] / n2[row]
    inner = np.stack([u, v, 1 - u - v], axis=1)
    q = np.einsum("ki,kij->kj", inner, triangles[row]) - p[row]
    squared[row], weights[row], feature[row] = dot_rows(q, q), inner, 0
    return squared, weights, feature


def ray_hits_triangle(triangles: Floats, origin: Floats, along: Floats, limit: Floats) -> tuple[Floats, Floats]:
    """Return distance (inf for none) and weights of the hit of unit rays with (k, 3, 3) triangles.

    Corners are sheared so that the ray is an axis (Woop, Benthin & Wald 2013): nothing slips through edges.
    """
    k = np.arange(len(along))
    longest = np.abs(along).argmax(axis=1)
    axes = [(longest + 1) % 3, (longest + 2) % 3, longest]
    x, y, z = ((triangles - origin[:, None])[k, :, axis] for axis in axes)
    dx, dy, dz = (along[k, axis] for axis in axes)
    x, y = x - (dx / dz)[:, None] * z, y - (dy / dz)[:, None] * z
    after, last = [1, 2, 0], [2, 0, 1]
    weights = x[:, after] * y[:, last] - y[:, after] * x[:, last]
    total = weights.sum(axis=1)
    same = (weights >= 0).all(axis=1) | (weights <= 0).all(axis=1)
    weights = weights / np.where(same & (total != 0), total, np.nan)[:, None]
    distance = dot_rows(weights, z) / dz
    return np.where((distance >= 0) & (distance <= limit), distance, np.inf), weights


def _height_over(p: Floats, a: Floats, b: Floats, c: Floats) -> Floats:
    """Return heights over planes times twice the area; 0 where rounding could have made them up."""
    ab, ac, ap = b - a, c - a, p - a
    height = dot_rows(cross_rows(ab, ac), ap)
    return np.where(height**2 > 1e-28 * dot_rows(ab, ab) * dot_rows(ac, ac) * dot_rows(ap, ap), height, 0.0)


def pierces(p: Floats, q: Floats, triangles: Floats) -> Flags:
    """Return whether segments pass through triangles: ends strictly on either side, the border included."""
    a, b, c = (triangles[:, i] for i in range(3))
    above, below = _height_over(p, a, b, c), _height_over(q, a, b, c)
    apart = ((above > 0) & (below < 0)) | ((above < 0) & (below > 0))
    u, v, w = (dot_rows(q - p, cross_rows(x - p, y - p)) for x, y in ((b, c), (c, a), (a, b)))
    inside = ((u >= 0) & (v >= 0) & (w >= 0)) | ((u <= 0) & (v <= 0) & (w <= 0))
    return np.asarray(apart & inside)


def _straddles(a: Floats, b: Floats) -> Flags:
    """Return whether triangles have corners strictly on both sides of the planes of others."""
    heights = np.stack([_height_over(a[:, i], b[:, 0], b[:, 1], b[:, 2]) for i in range(3)])
    return np.asarray((heights > 0).any(axis=0) & (heights < 0).any(axis=0))


def triangles_cross(a: Floats, b: Floats) -> Flags:
    """Return whether pairs of (k, 3, 3) triangles pass through each other."""
    found, both = np.zeros(len(a), bool), _straddles(a, b) & _straddles(b, a)
    for i in range(3):
        found |= pierces(a[:, i], a[:, (i + 1) % 3], b) | pierces(b[:, i], b[:, (i + 1) % 3], a)
    return found & both
