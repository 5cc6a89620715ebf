"""How much of its surroundings a place sees: hollows are dark, bulges are light."""

import numpy as np

from ..geometry import Surface
from ..model.arrays import FloatArray, IntArray

CELL_MM = 2.5
"""Vertices this near to each other that face the same way share one answer."""
DIRECTIONS = 26
REACH_MM = 45.0
LIFT_MM = 0.8
BLUR_ROUNDS = 3


def openness(surface: Surface, normals: FloatArray, part: IntArray) -> FloatArray:
    """Return the cosine-weighted share of unblocked directions at each vertex, ``(n,)``, 0..1.

    Parameters
    ----------
    surface
        What stands around.
    normals
        Outward unit normals of its vertices, ``(n, 3)``.
    part
        Which part each vertex belongs to, ``(n,)``: parts never share an answer, however near they are.
    """
    vertices = surface.vertices_mm
    cell = _cells(vertices, normals, part)
    first = np.unique(cell, return_index=True)[1]
    seen = np.full(cell.max() + 1, 1.0)
    seen[cell[first]] = _unblocked(surface, vertices[first], normals[first])
    return _blurred(seen[cell], surface.faces.astype(np.int64))


def _cells(vertices: FloatArray, normals: FloatArray, part: IntArray) -> IntArray:
    steps = np.floor((vertices - vertices.min(axis=0)) / CELL_MM).astype(np.int64)
    facing = ((normals > 0).astype(np.int64) * [1, 2, 4]).sum(axis=1)
    wide = steps.max(axis=0) + 1
    key = (((part * wide[0] + steps[:, 0]) * wide[1] + steps[:, 1]) * wide[2] + steps[:, 2]) * 8 + facing
    cell: IntArray = np.unique(key, return_inverse=True)[1].reshape(-1)
    return cell


def _unblocked(surface: Surface, points: FloatArray, normals: FloatArray) -> FloatArray:
    directions = spread_directions(DIRECTIONS)
    cosine = normals @ directions.T
    vertex, direction = np.nonzero(cosine > 0.05)
    origins = points[vertex] + normals[vertex] * LIFT_MM
    stopped = surface.blocked(origins, directions[direction], limit_mm=REACH_MM)
    weight = cosine[vertex, direction]
    total = np.bincount(vertex, weight, len(points))
    free = np.bincount(vertex, weight * ~stopped, len(points))
    return np.where(total > 0, free / np.maximum(total, 1e-9), 1.0)


def spread_directions(count: int) -> FloatArray:
    """Return unit vectors ``(count, 3)`` spread evenly over the sphere on a golden-angle spiral."""
    place = np.arange(count) + 0.5
    height = 1 - 2 * place / count
    turn = np.pi * (1 + 5**0.5) * place
    flat = np.sqrt(1 - height**2)
    return np.stack([np.cos(turn) * flat, np.sin(turn) * flat, height], axis=1)


def _blurred(values: FloatArray, faces: IntArray) -> FloatArray:
    count = len(values)
    corner = faces.reshape(-1)
    uses = np.bincount(corner, minlength=count)
    for _ in range(BLUR_ROUNDS):
        mean = values[faces].mean(axis=1)
        spread = np.bincount(corner, np.repeat(mean, 3), count)
        values = np.where(uses > 0, spread / np.maximum(uses, 1), values)
    return values
