"""A mesh cut by parallel planes: where each plane meets it, as chains of straight pieces."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ...model.arrays import FloatArray, IntArray
from ..chains import distance_to_chain_mm
from ..rows import row_highs, row_lows, row_norms, row_sums
from ..topology import connected


@dataclass(frozen=True)
class Chain:
    """One connected line along which one plane meets a mesh.

    Attributes
    ----------
    place
        Which plane.
    faces
        The triangles it runs through, in order, ``(k - 1,)``.
    edges
        The edge of the mesh that each corner lies on, as two vertices, ``(k, 2)``.
    share
        How far from the first to the second it lies, ``(k,)``.
    points_mm
        The corners, ``(k, 3)``; the last repeats the first where the chain is closed.
    """

    place: int
    faces: IntArray
    edges: IntArray
    share: FloatArray
    points_mm: FloatArray

    @cached_property
    def along_mm(self) -> FloatArray:
        """How far each corner is along the chain from its start, ``(k,)``."""
        steps = row_norms(np.diff(self.points_mm, axis=0))
        return np.concatenate([[0.0], np.cumsum(steps)])

    @property
    def length_mm(self) -> float:
        """How long it is."""
        return float(self.along_mm[-1])

    @cached_property
    def closed(self) -> bool:
        """Whether it comes back to its start."""
        return bool((self.points_mm[0] == self.points_mm[-1]).all())

    def at(self, along_mm: FloatArray) -> FloatArray:
        """Return the places so far along the chain ``(q,)``, ``(q, 3)``, mm."""
        return np.stack([np.interp(along_mm, self.along_mm, axis) for axis in self.points_mm.T], axis=1)

    def carried_by(self, along_mm: FloatArray) -> tuple[IntArray, FloatArray]:
        """Return which vertices ``(q, 4)`` carry places along the chain ``(q,)``, and each one's part ``(q, 4)``."""
        step = np.clip(np.searchsorted(self.along_mm, along_mm, side="right") - 1, 0, len(self.faces) - 1)
        run_mm = np.diff(self.along_mm)[step]
        onward = np.clip((along_mm - self.along_mm[step]) / np.where(run_mm > 0.0, run_mm, 1.0), 0.0, 1.0)
        ends = [(step, 1.0 - onward), (step + 1, onward)]
        parts = [part * side for at, part in ends for side in (1.0 - self.share[at], self.share[at])]
        return np.hstack([self.edges[step], self.edges[step + 1]]), np.stack(parts, axis=1)


def flat_cuts(points_mm: FloatArray, faces: IntArray, places_mm: FloatArray) -> list[Chain]:
    """Return the chains along which planes across the first axis meet a mesh.

    A point on a plane counts as beyond it, so that every triangle is crossed in one straight piece or not at all.
    Where more than two pieces meet, chains end.

    Parameters
    ----------
    points_mm, faces
        The mesh, ``(n, 3)`` and ``(m, 3)``.
    places_mm
        First coordinate of each plane, ``(s,)``, ascending.
    """
    face, place, edges = _crossed(points_mm[:, 0], faces, places_mm)
    if not len(face):
        return []
    count = len(points_mm)
    keys = (place[:, None] * count + edges[:, :, 0]) * count + edges[:, :, 1]
    nodes, of_end = np.unique(keys, return_inverse=True)
    on_edge = np.stack([nodes // count % count, nodes % count], axis=1)
    low, high = points_mm[on_edge[:, 0]], points_mm[on_edge[:, 1]]
    share = (places_mm[nodes // count**2] - low[:, 0]) / (high[:, 0] - low[:, 0])
    corners = low + share[:, None] * (high - low)
    walks = _walked(of_end.reshape(-1, 2), len(nodes))
    return [
        Chain(int(place[pieces[0]]), face[pieces], on_edge[walked], share[walked], corners[walked])
        for pieces, walked in walks
    ]


def _crossed(across: FloatArray, faces: IntArray, places: FloatArray) -> tuple[IntArray, IntArray, IntArray]:
    """Return which triangle each plane crosses ``(q,)``, which plane that is ``(q,)``, and both edges ``(q, 2, 2)``."""
    corners = across[faces]
    first = np.searchsorted(places, row_lows(corners), side="right")
    count = np.searchsorted(places, row_highs(corners), side="right") - first
    face = np.repeat(np.arange(len(faces)), count)
    place = np.arange(len(face)) - np.repeat(np.cumsum(count) - count - first, count)
    beyond = corners[face] >= places[place][:, None]
    lone = np.where(row_sums(beyond) == 1, beyond.argmax(axis=1), beyond.argmin(axis=1))
    alone = faces[face, lone]
    others = np.stack([faces[face, (lone + 1) % 3], faces[face, (lone + 2) % 3]], axis=1)
    edges = np.stack([np.broadcast_to(alone[:, None], others.shape), others], axis=2)
    return face, place, np.sort(edges, axis=2)


def _walked(ends: IntArray, node_count: int) -> list[tuple[IntArray, IntArray]]:
    """Return the pieces and the nodes of each chain in order, from pieces' ends ``(q, 2)``.

    Half-pieces are numbered 2 * piece + end. From each, the way out of the piece by that end leads on through the half
    it meets there; pointer jumping finds for all at once how far the chain still goes and where it ends.
    """
    twin = _twins(ends, node_count)
    _open_loops(twin)
    last, steps = _jumped(np.where(twin >= 0, twin ^ 1, -1))
    sides = last.reshape(-1, 2)
    start = row_lows(sides)
    toward = sides.argmin(axis=1)
    before = steps.reshape(-1, 2)[np.arange(len(ends)), toward]
    order = np.lexsort((before, start))
    runs = np.split(order, np.flatnonzero(np.diff(start[order])) + 1)
    return [(run, np.append(ends[run, toward[run]], ends[run[-1], 1 - toward[run[-1]]])) for run in runs]


def _twins(ends: IntArray, node_count: int) -> IntArray:
    """Return the half-piece that each one meets at its node, ``(2 q,)``; -1 where not exactly two meet."""
    of_half = ends.ravel()
    order = np.argsort(of_half, kind="stable")
    uses = np.bincount(of_half, minlength=node_count)
    first = (np.cumsum(uses) - uses)[uses == 2]
    twin = np.full(len(of_half), -1)
    twin[order[first]], twin[order[first + 1]] = order[first + 1], order[first]
    return twin


def _open_loops(twin: IntArray) -> None:
    """Part each closed loop at its lowest piece."""
    pieces = np.arange(len(twin)) // 2
    met = np.flatnonzero(twin >= 0)
    label = connected(len(twin) // 2, np.column_stack([pieces[met], twin[met] // 2]))
    is_open = np.zeros(label.max() + 1, bool)
    is_open[label[pieces[twin < 0]]] = True
    _, lowest = np.unique(label, return_index=True)
    parted = 2 * lowest[~is_open]
    twin[twin[parted]] = -1
    twin[parted] = -1


def _jumped(onward: IntArray) -> tuple[IntArray, IntArray]:
    """Return where following ``onward`` ``(h,)`` ends from each place, and after how many steps; -1 ends it."""
    last = np.where(onward >= 0, onward, np.arange(len(onward)))
    steps = (onward >= 0).astype(np.int64)
    while True:
        further = last[last]
        if np.array_equal(further, last):
            return last, steps
        steps += steps[last]
        last = further


def corners_that_matter(points_mm: FloatArray, within_mm: float) -> IntArray:
    """Return which corners of a line ``(k, 3)`` are kept so that none left out lies off it by more than ``within_mm``.

    Both ends are kept (Ramer 1972; Douglas & Peucker 1973).
    """
    kept, open_runs = {0, len(points_mm) - 1}, [(0, len(points_mm) - 1)]
    while open_runs:
        first, last = open_runs.pop()
        if last - first < 2:
            continue
        off_mm = distance_to_chain_mm(points_mm[first + 1 : last], points_mm[[first, last]])
        far = first + 1 + int(off_mm.argmax())
        if off_mm.max() > within_mm:
            kept.add(far)
            open_runs += [(first, far), (far, last)]
    return np.array(sorted(kept))
