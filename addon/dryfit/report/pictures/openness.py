"""How much of its surroundings a place sees: hollows are dark, bulges are light."""

import numpy as np

from ...geometry import Surface
from ...model.arrays import FloatArray, IntArray

CELL_MM = 2.5
"""Vertices this near to each other that face the same way share one answer."""
DIRECTIONS = 26
REACH_MM = 45.0
LIFT_MM = 0.8
BLUR_ROUNDS = 3


class Openness:
    """The cosine-weighted share of unblocked directions at vertices, worked out where it is asked for.

    Parameters
    ----------
    surface
        What stands around.
    normals
        Outward unit normals of its vertices, ``(n, 3)``.
    part
        Which part each vertex belongs to, ``(n,)``: parts never share an answer, however near they are.
    """

    def __init__(self, surface: Surface, normals: FloatArray, part: IntArray) -> None:
        self._surface, self._normals = surface, normals
        self._faces = np.asarray(surface.faces, dtype=np.int64)
        self._cell = _cells(np.asarray(surface.vertices_mm), normals, part)
        first = np.zeros(self._cell.max() + 1, np.int64)
        first[self._cell[::-1]] = np.arange(len(self._cell))[::-1]
        self._speaker = first
        self._seen = np.full(len(first), np.nan)

    def at(self, vertices: IntArray) -> FloatArray:
        """Return the share, 0..1, at some vertices ``(k,)``; nothing is worked out twice."""
        wanted = np.zeros(len(self._cell), bool)
        wanted[vertices] = True
        faces = self._faces[wanted[self._faces].any(axis=1)]
        cells = np.unique(self._cell[np.concatenate([faces.ravel(), vertices])])
        new = cells[np.isnan(self._seen[cells])]
        speakers = self._speaker[new]
        corners = np.asarray(self._surface.vertices_mm)
        self._seen[new] = _unblocked(self._surface, corners[speakers], self._normals[speakers])
        used, compact = np.unique(np.concatenate([faces.ravel(), vertices]), return_inverse=True)
        blurred = _blurred(self._seen[self._cell[used]], compact[: faces.size].reshape(-1, 3))
        return blurred[compact[faces.size :]]


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
