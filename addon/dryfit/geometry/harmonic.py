"""Harmonic fields on a mesh: as smooth as can be between values that are given."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import BoolArray, FloatArray, IntArray
from .rows import dot_rows, row_norms
from .topology import connected

TOLERANCE = 1e-6
"""Residual, as a share of the right-hand side, at which solving stops."""
MOST_STEPS = 1000
SMALL = 1500
"""Systems with fewer unknowns are not coarsened further."""


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
        out = _summed(self.start, flow, self.count)
        return np.asarray(out - np.bincount(self.end, weights=flow, minlength=self.count))

    @property
    def degree(self) -> FloatArray:
        """Sum of the weights at each vertex, ``(n,)``."""
        out = _summed(self.start, self.weight, self.count)
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
        area = row_norms(np.cross(u, v))
        cotangents.append(0.5 * dot_rows(u, v) / np.maximum(area, 1e-12))
        ends.append(np.stack([np.minimum(left, right), np.maximum(left, right)], axis=1))
    pairs, place = np.unique(np.concatenate(ends), axis=0, return_inverse=True)
    weight = _summed(place.ravel(), np.concatenate(cotangents), len(pairs))
    return WeightedGraph(pairs[:, 0], pairs[:, 1], np.clip(weight, 1e-3, 1e3), len(vertices_mm))


def _summed(group: IntArray, values: FloatArray, count: int) -> FloatArray:
    """Return the sum of the values of each group, ``(count,)``."""
    return np.asarray(np.bincount(group, weights=values, minlength=count), np.float64)


def harmonic_field(graph: WeightedGraph, fixed: BoolArray, values: FloatArray) -> FloatArray:
    """Return the field ``(n,)`` that equals ``values`` where ``fixed`` and is harmonic elsewhere.

    Parameters
    ----------
    graph
        The mesh.
    fixed, values
        ``(n,)`` each; values elsewhere are kept only where nothing fixed can be reached.

    Notes
    -----
    Cascadic conjugate gradients: Bornemann & Deuflhard 1996, Numer. Math. 75:135, doi 10.1007/s002110050234, on
    groups of neighbours as coarse unknowns. Every level keeps the maximum principle.
    """
    field = np.asarray(values, dtype=np.float64).copy()
    pieces = connected(graph.count, np.stack([graph.start, graph.end], axis=1))
    free = ~fixed & np.isin(pieces, pieces[fixed])
    if free.any():
        field[free] = _solve(_system(graph, free, field))
    return field


@dataclass(frozen=True)
class _System:
    """``sum over neighbours of weight * (own - neighbour's) + pull * own = right``, for every unknown."""

    graph: WeightedGraph
    pull: FloatArray
    right: FloatArray

    def times(self, values: FloatArray) -> FloatArray:
        return self.graph.laplacian_times(values) + self.pull * values


def _system(graph: WeightedGraph, free: BoolArray, values: FloatArray) -> _System:
    number = np.cumsum(free) - 1
    count = int(free.sum())
    inner = free[graph.start] & free[graph.end]
    inside = WeightedGraph(number[graph.start[inner]], number[graph.end[inner]], graph.weight[inner], count)
    pull, right = np.zeros(count), np.zeros(count)
    for own, other in ((graph.start, graph.end), (graph.end, graph.start)):
        border = free[own] & ~free[other]
        weight, place = graph.weight[border], number[own[border]]
        pull += np.bincount(place, weights=weight, minlength=count)
        right += np.bincount(place, weights=weight * values[other[border]], minlength=count)
    return _System(inside, pull, right)


def _solve(system: _System) -> FloatArray:
    """Solve on groups of unknowns first, then refine."""
    if system.graph.count <= SMALL:
        return _conjugate_gradients(system, np.zeros(system.graph.count))
    group = _groups(system.graph)
    count = int(group.max()) + 1
    if count >= system.graph.count:
        return _conjugate_gradients(system, np.zeros(system.graph.count))
    return _conjugate_gradients(system, _solve(_grouped(system, group, count))[group])


def _groups(graph: WeightedGraph) -> IntArray:
    """Return which group each vertex joins, ``(n,)``: the highest of its neighbours in a fixed shuffled order."""
    rank = np.random.default_rng(0).permutation(graph.count)
    highest = rank.copy()
    np.maximum.at(highest, graph.start, rank[graph.end])
    np.maximum.at(highest, graph.end, rank[graph.start])
    _, group = np.unique(highest, return_inverse=True)
    return np.asarray(group.ravel(), dtype=np.int64)


def _grouped(system: _System, group: IntArray, count: int) -> _System:
    start, end = group[system.graph.start], group[system.graph.end]
    between = start != end
    key = np.minimum(start, end)[between] * count + np.maximum(start, end)[between]
    pairs, place = np.unique(key, return_inverse=True)
    weight = _summed(place.ravel(), system.graph.weight[between], len(pairs))
    pull = _summed(group, system.pull, count)
    right = _summed(group, system.right, count)
    return _System(WeightedGraph(pairs // count, pairs % count, weight, count), pull, right)


def _conjugate_gradients(system: _System, start: FloatArray) -> FloatArray:
    """Solve from a starting guess, the diagonal as preconditioner (Hestenes & Stiefel 1952, J. Res. NBS 49:409)."""
    scale = 1.0 / np.maximum(system.graph.degree + system.pull, 1e-300)
    field = start
    residual = system.right - system.times(field)
    search = scale * residual
    energy = float(residual @ search)
    enough = TOLERANCE**2 * float(system.right @ (scale * system.right))
    for _ in range(MOST_STEPS):
        if energy <= enough:
            break
        image = system.times(search)
        step = energy / float(search @ image)
        field = field + step * search
        residual = residual - step * image
        better = scale * residual
        energy, last = float(residual @ better), energy
        search = better + (energy / last) * search
    return field
