"""Catmull-Clark subdivision of quads that carries any number of values a vertex along.

Catmull & Clark 1978, Computer-Aided Design 10(6):350-355, https://doi.org/10.1016/0010-4485(78)90110-0;
open borders follow the cubic B-spline rule. Since every rule is an average, shape displacements subdivide
like positions, and a posed head subdivides to the same surface as the subdivided head posed.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True)
class QuadEdges:
    """The edges of some quads.

    Attributes
    ----------
    ends
        ``(e, 2)`` vertex indices, ascending.
    of_quad
        ``(m, 4)``: the edge from corner k to corner k + 1.
    uses
        ``(e,)`` quads at each edge; 1 is an open border.
    """

    ends: IntArray
    of_quad: IntArray
    uses: IntArray

    @classmethod
    def of(cls, quads: IntArray) -> "QuadEdges":
        """Collect the edges of quads ``(m, 4)``."""
        pairs = np.sort(np.stack([quads, np.roll(quads, -1, axis=1)], axis=-1).reshape(-1, 2), axis=1)
        ends, of_quad, uses = np.unique(pairs, axis=0, return_inverse=True, return_counts=True)
        return cls(ends, of_quad.reshape(-1, 4), uses)


def scattered(rows: IntArray, values: FloatArray, count: int) -> FloatArray:
    """Return sums ``(count, c)`` of ``values`` ``(k, c)`` by target row."""
    return np.stack([np.bincount(rows, column, count) for column in values.T], axis=1)


def catmull_clark(values: FloatArray, quads: IntArray) -> tuple[FloatArray, IntArray]:
    """Subdivide once.

    Parameters
    ----------
    values
        ``(n, c)``: positions, displacements, weights, side by side.
    quads
        ``(m, 4)`` corner indices.

    Returns
    -------
    values, quads
        Old vertices first, then edge points, then face points; four quads for each old one.
    """
    edges = QuadEdges.of(quads)
    face_points = values[quads].mean(axis=1)
    edge_points = _edge_points(values, quads, edges, face_points)
    moved = _vertex_points(values, quads, edges, face_points)
    first_edge, first_face = len(values), len(values) + len(edges.ends)
    centre = np.arange(len(quads)) + first_face
    after = edges.of_quad + first_edge
    before = np.roll(after, 1, axis=1)
    small = np.stack([quads, after, np.repeat(centre[:, None], 4, axis=1), before], axis=-1)
    return np.concatenate([moved, edge_points, face_points]), small.reshape(-1, 4)


def _edge_points(values: FloatArray, quads: IntArray, edges: QuadEdges, face_points: FloatArray) -> FloatArray:
    middle = values[edges.ends].mean(axis=1)
    beside = scattered(edges.of_quad.ravel(), np.repeat(face_points, 4, axis=0), len(edges.ends))
    inner = 0.5 * middle + 0.5 * beside / edges.uses[:, None]
    return np.where((edges.uses == 1)[:, None], middle, inner)


def _vertex_points(values: FloatArray, quads: IntArray, edges: QuadEdges, face_points: FloatArray) -> FloatArray:
    count = len(values)
    middle = values[edges.ends].mean(axis=1)
    faces_at = np.maximum(np.bincount(quads.ravel(), minlength=count), 1)[:, None]
    face_mean = scattered(quads.ravel(), np.repeat(face_points, 4, axis=0), count) / faces_at
    valence = np.maximum(np.bincount(edges.ends.ravel(), minlength=count), 1)[:, None]
    edge_mean = scattered(edges.ends.ravel(), np.repeat(middle, 2, axis=0), count) / valence
    inner = (face_mean + 2.0 * edge_mean + (valence - 3.0) * values) / valence
    open_ends = edges.ends[edges.uses == 1]
    open_mean = scattered(open_ends.ravel(), np.repeat(values[open_ends].mean(axis=1), 2, axis=0), count) / 2.0
    bordering = np.isin(np.arange(count), open_ends)[:, None]
    return np.where(bordering, 0.5 * values + 0.5 * open_mean, inner)


def triangles_of(quads: IntArray) -> IntArray:
    """Return two triangles ``(2m, 3)`` for each quad ``(m, 4)``, cut from corner 0 to corner 2."""
    return np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]], axis=1).reshape(-1, 3)
