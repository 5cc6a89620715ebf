"""The plain twin of the kernel's fast marching, one vertex at a time."""

from __future__ import annotations

import heapq
import math
from collections import defaultdict

import numpy as np

from ..checked_arrays import Floats, Ints

ON, FLAT, ROUND = 0, 1, 2
"""How the front came to a vertex: a source beside another, over triangles from a curve, from one point."""


class _Front:
    """Distances so far, and who waits to settle."""

    def __init__(self, vertices: Floats, faces: Ints, neighbour: Ints, limit: float) -> None:
        self.vertices, self.faces, self.neighbour, self.limit = vertices, faces, neighbour, limit
        self.distance = np.full(len(vertices), np.inf)
        self.source = np.full(len(vertices), -1, np.int32)
        self.kind = np.full(len(vertices), ROUND, np.uint8)
        self.settled = np.zeros(len(vertices), bool)
        self.waiting: list[tuple[float, int]] = []

    def offer(self, v: int, distance: float, source: int, kind: int) -> None:
        """Let the front reach a vertex, if that is sooner than known."""
        if self.settled[v] or distance >= self.distance[v] or distance > self.limit:
            return
        self.distance[v], self.source[v], self.kind[v] = distance, source, kind
        heapq.heappush(self.waiting, (distance, v))

    def along_edge(self, a: int, v: int, length: float) -> None:
        """Let the front run straight from one vertex to another."""
        kind = ROUND if self.kind[a] == ON else int(self.kind[a])
        self.offer(v, self.distance[a] + length, int(self.source[a]), kind)

    def over_segment(self, a: int, b: int, length: float, v: int, x: float, y: float) -> None:
        """Let the front cross segment a b to vertex v, which lies x along it and y across."""
        da, db = float(self.distance[a]), float(self.distance[b])
        slope = (db - da) / length
        if not abs(slope) < 1:
            return
        kinds = (self.kind[a], self.kind[b])
        round_front = ROUND in kinds and FLAT not in kinds
        if round_front:
            sx = (da * da - db * db + length * length) / (2 * length)
            sy = math.sqrt(max(0.0, da * da - sx * sx))
            meet, arrival = sx + (x - sx) * sy / (sy + y) if sy + y > 0 else math.nan, math.hypot(x - sx, y + sy)
        else:
            steep = math.sqrt(1 - slope * slope)
            meet, arrival = x - y * slope / steep, da + slope * x + steep * y
        if 0 <= meet <= length and arrival >= max(da, db):
            self.offer(v, arrival, int(self.source[a if 2 * meet < length else b]), ROUND if round_front else FLAT)

    def pass_on(self, a: int, b: int, face: int, side: int, v: int) -> None:
        """Carry the front from settled a to corner v of a face whose third corner is b."""
        pa, pb, pv = self.vertices[[a, b, v]]
        length = float(np.linalg.norm(pb - pa))
        self.along_edge(a, v, float(np.linalg.norm(pv - pa)))
        if length == 0 or self.settled[v]:
            return
        x, y = _placed(pa, pb, pv)
        if self.settled[b]:
            self.over_segment(a, b, length, v, x, y)
        if (pa - pv) @ (pb - pv) < 0:
            self.unfold(a, b, face, side, v, np.array([length, 0.0]), np.array([x, y]))

    def unfold(self, a: int, b: int, face: int, side: int, v: int, end: Floats, here: Floats) -> None:
        """Flatten faces beyond an obtuse corner until a vertex splits it; cross from there."""
        names, ends = (a, b), (np.zeros(2), end)
        pa, pb = ends
        for _ in range(16):
            if self.neighbour[face, side] < 0:
                return
            face, over = divmod(int(self.neighbour[face, side]), 3)
            c = int(self.faces[face, (over + 2) % 3])
            along, across = _placed(*self.vertices[[a, b, c]])
            e = (pb - pa) / np.linalg.norm(pb - pa)
            pc = pa + e * along + np.array([e[1], -e[0]]) * across
            from_a, from_b = ((q - here) @ (pc - here) > 0 for q in ends)
            if from_a and from_b:
                self._through(c, pc, names, ends, v, here)
                return
            following = (over + 1) % 3
            side = following if self.faces[face, following] == (b if from_a else a) else (over + 2) % 3
            if from_a:
                a, pa = c, pc
            else:
                b, pb = c, pc

    def _through(
        self, c: int, pc: Floats, names: tuple[int, int], ends: tuple[Floats, Floats], v: int, here: Floats
    ) -> None:
        if not self.settled[c]:
            return
        self.along_edge(c, v, float(np.linalg.norm(pc - here)))
        for name, end in zip(names, ends, strict=True):
            if self.settled[name]:
                self.over_segment(name, c, float(np.linalg.norm(pc - end)), v, *_placed(end, pc, here))


def _placed(a: Floats, b: Floats, c: Floats) -> tuple[float, float]:
    """Return where c lies: along a b from a, and across it."""
    span = float(np.linalg.norm(b - a))
    along = (b - a) / span if span > 0 else np.zeros(len(a))
    x = float((c - a) @ along)
    return x, float(np.linalg.norm(c - a - x * along))


def march(
    vertices: Floats, faces: Ints, neighbour: Ints, sources: Ints, start: Floats, limit: float
) -> tuple[Floats, Ints]:
    """Return distance (n,) and the index into sources (n,); see the kernel's ``march``."""
    front = _Front(vertices, faces, neighbour, limit)
    for index, (vertex, distance) in enumerate(zip(sources.tolist(), start.tolist(), strict=True)):
        front.offer(vertex, distance, index, ROUND)
    reached = front.source >= 0
    after = np.roll(faces, -1, axis=1)
    chained = reached[faces] & reached[after] & (faces != after)
    front.kind[faces[chained]] = front.kind[after[chained]] = ON
    around = defaultdict(list)
    for face, corners in enumerate(faces.tolist()):
        for side, vertex in enumerate(corners):
            around[vertex].append((face, side, corners[(side + 1) % 3], corners[(side + 2) % 3]))
    while front.waiting:
        distance, a = heapq.heappop(front.waiting)
        if front.settled[a] or distance > front.distance[a]:
            continue
        front.settled[a] = True
        for face, side, following, last in around[a]:
            front.pass_on(a, following, face, side, last)
            front.pass_on(a, last, face, (side + 2) % 3, following)
    return front.distance, front.source
