"""Harmonic fields on a mesh: as smooth as can be between values that are given."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import BoolArray, FloatArray, IntArray

TOLERANCE = 1e-9
MOST_STEPS = 5000


@dataclass(frozen=True)
class WeightedGraph:
    """Undirected edges with weights.

    Attributes
    ----------
    start, end
        Vertices of each edge, ``(e,)``, every edge once.
    weight
        Over zero, ``(e,)``.
    count
        Number of vertices.
    """

    start: IntArray
    end: IntArray
    weight: FloatArray
    count: int

    def laplacian_times(self, values: FloatArray) -> FloatArray:
        """Return the sum over neighbours of ``weight * (own value - neighbour's)``, ``(n,)``."""
        flow = self.weight * (values[self.start] - values[self.end])
        out = np.bincount(self.start, weights=flow, minlength=self.count)
        return np.asarray(out - np.bincount(self.end, weights=flow, minlength=self.count))

    @property
    def degree(self) -> FloatArray:
        """Sum of the weights at each vertex, ``(n,)``."""
        out = np.bincount(self.start, weights=self.weight, minlength=self.count)
        return np.asarray(out + np.bincount(self.end, weights=self.weight, minlength=self.count))


def mesh_graph(vertices_mm: FloatArray, faces: IntArray, cut_faces: BoolArray | None = None) -> WeightedGraph:
    """Return the mesh's edges weighted by the cotangents of the angles across them.

    Parameters
    ----------
    vertices_mm, faces
        ``(n, 3)`` mm and ``(m, 3)``.
    cut_faces
        ``(m,)``; True leaves the triangle out, so that nothing passes through it.

    Notes
    -----
    Pinkall & Polthier 1993, Experimental Mathematics 2:15, doi 10.1080/10586458.1993.10504266. Negative and tiny
    weights (obtuse pairs) are raised to a small positive one, which keeps the maximum principle: no value leaves
    the range of those given.
    """
    used = faces if cut_faces is None else faces[~cut_faces]
    ends, cotangents = [], []
    for corner in range(3):
        apex, left, right = (used[:, (corner + turn) % 3] for turn in range(3))
        u, v = vertices_mm[left] - vertices_mm[apex], vertices_mm[right] - vertices_mm[apex]
        area = np.linalg.norm(np.cross(u, v), axis=1)
        cotangents.append(0.5 * np.einsum("ij,ij->i", u, v) / np.maximum(area, 1e-12))
        ends.append(np.stack([np.minimum(left, right), np.maximum(left, right)], axis=1))
    pairs, place = np.unique(np.concatenate(ends), axis=0, return_inverse=True)
    weight = np.bincount(place.ravel(), weights=np.concatenate(cotangents), minlength=len(pairs))
    return WeightedGraph(pairs[:, 0], pairs[:, 1], np.clip(weight, 1e-3, 1e3), len(vertices_mm))


def harmonic_field(graph: WeightedGraph, fixed: BoolArray, values: FloatArray) -> FloatArray:
    """Return the field ``(n,)`` that equals ``values`` where ``fixed`` and is harmonic elsewhere.

    Parameters
    ----------
    graph
        The mesh.
    fixed, values
        ``(n,)`` each; values elsewhere are the starting guess.

    Notes
    -----
    Conjugate gradients with the diagonal as preconditioner (Hestenes & Stiefel 1952, J. Res. NBS 49:409).
    Vertices not connected to any fixed one keep their starting guess.
    """
    free = ~fixed & (graph.degree > 0.0)
    field = np.asarray(values, dtype=np.float64).copy()
    scale = np.where(free, 1.0 / np.where(graph.degree > 0.0, graph.degree, 1.0), 0.0)
    residual = np.where(free, -graph.laplacian_times(field), 0.0)
    search = scale * residual
    energy = float(residual @ search)
    enough = TOLERANCE**2 * max(energy, 1e-30)
    for _ in range(MOST_STEPS):
        if energy <= enough:
            break
        image = np.where(free, graph.laplacian_times(search), 0.0)
        curvature = float(search @ image)
        if curvature <= 0.0:
            break
        step = energy / curvature
        field += step * search
        residual -= step * image
        better = scale * residual
        energy, last = float(residual @ better), energy
        search = better + (energy / last) * search
    return field
