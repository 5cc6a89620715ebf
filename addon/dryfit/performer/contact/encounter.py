"""One pair in one motion: how deep the one is in the other at any t, and from which t on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ...geometry.penetration import depths_below_mm
from ...model.arrays import BoolArray, FloatArray, IntArray
from .body import Body, PosedBodies
from .pairs import Pair

PRECISION_T = 2e-5
"""Bisection stops when the start of a contact is known this closely."""
FINER_STEPS = 9
"""Golden sections that narrow down the deepest pose between two that were looked at."""
GOLDEN = 0.5 * (5.0**0.5 - 1.0)
NOTHING = np.zeros(0, np.int64)


@dataclass(frozen=True)
class Overlap:
    """Where a pair overlaps at one pose.

    Attributes
    ----------
    t
        The pose.
    points
        Points that lie in the other body, ``(k,)``, ascending: of the first body, then (counted on) of the second.
    depth_mm
        How deep, ``(k,)``.
    onto
        The other body's triangle nearest to each, ``(k,)``.
    faces
        Triangles of the two that cross, ``(p, 2)``.
    """

    t: float
    points: IntArray
    depth_mm: FloatArray
    onto: IntArray
    faces: IntArray


class Encounter:
    """A pair in one motion.

    Parameters
    ----------
    pair
        Who.
    stage
        The motion.
    """

    def __init__(self, pair: Pair, stage: PosedBodies) -> None:
        self.pair, self.stage = pair, stage
        self.size = len(pair.first.anchor) + (len(pair.second.anchor) if pair.mutual else 0)

    @property
    def motion(self) -> str:
        """Name of the motion."""
        return self.stage.poses.name

    def crossings(self, t: float) -> IntArray:
        """Return triangles of the first and the second body that pass through each other at ``t``, ``(p, 2)``."""
        first, second = self.pair.first, self.pair.second
        if self.stage.apart(first, second, t):
            return np.zeros((0, 2), np.int64)
        one, two = self.stage.surface(first, t), self.stage.surface(second, t)
        smaller = len(first.faces) <= len(second.faces)
        found = np.asarray(one.crossings(two)) if smaller else np.asarray(two.crossings(one))[:, ::-1]
        return np.asarray(found[first.counting[found[:, 0]] & second.counting[found[:, 1]]], dtype=np.int64)

    def overlap(self, t: float) -> Overlap:
        """Return where the pair overlaps at ``t``; nothing where no triangles cross."""
        faces = self.crossings(t)
        if not len(faces):
            return Overlap(t, NOTHING, np.zeros(0), NOTHING, faces)
        first, second = self.pair.first, self.pair.second
        points, depth, onto = self._inside(first, second, faces, t)
        if self.pair.mutual:
            others, other_depth, other_onto = self._inside(second, first, faces[:, ::-1], t)
            points = np.concatenate([points, others + len(first.anchor)])
            depth, onto = np.concatenate([depth, other_depth]), np.concatenate([onto, other_onto])
        return Overlap(t, points, depth, onto, faces)

    def _inside(self, body: Body, other: Body, crossing: IntArray, t: float) -> tuple[IntArray, FloatArray, IntArray]:
        """Return the points of crossing pieces of a body that lie in another, how deep, and nearest to what."""
        solid = self.stage.surface(other, t)
        at = body.points(self.stage.vertices(body, t))
        asked, entered = body.of_crossing(crossing[:, 0]), other.of_crossing(crossing[:, 1])
        held = solid.vertices_mm[entered[other.piece]]
        low, high = held.min(axis=0) - other.depth_mm, held.max(axis=0) + other.depth_mm
        ids = np.flatnonzero(asked[body.piece[body.anchor]] & ((at >= low) & (at <= high)).all(axis=1))
        depth, face = depths_below_mm(solid, at[ids], other.thickness_mm)
        kept = (depth > 0.0) & other.counting[face]
        return ids[kept], depth[kept], face[kept]

    def piece_of(self, overlap: Overlap) -> IntArray:
        """Return the place among the first body's pieces that each overlapping point is about, ``(k,)``.

        A point of the second body is about the piece it lies in.
        """
        first = self.pair.first
        own = overlap.points < len(first.anchor)
        place = np.zeros(len(overlap.points), np.int64)
        place[own] = first.piece[first.anchor[overlap.points[own]]]
        place[~own] = first.piece[first.faces[overlap.onto[~own], 0]]
        return place

    def crossing_pieces(self, faces: IntArray) -> BoolArray:
        """Return which pieces of the first body have triangles among some crossing ones ``(p, 2)``."""
        return self.pair.first.of_crossing(faces[:, 0])


@dataclass(frozen=True)
class Span:
    """From where to where in a motion two things touch; None where they still do at that end of it."""

    low: float | None
    high: float | None


def span_of(touching: Callable[[float], bool], looked: FloatArray, flags: BoolArray, deepest: int) -> Span:
    """Bisect both ends of the stretch of a motion in which something touches.

    Parameters
    ----------
    touching
        Whether it touches at any t.
    looked, flags
        Poses already looked at, ascending ``(s,)``, and whether it touches there.
    deepest
        Which of them lies in the stretch.
    """
    below = np.flatnonzero(~flags[:deepest])
    above = np.flatnonzero(~flags[deepest:])
    low = _bisected(touching, looked[below[-1]], looked[below[-1] + 1]) if len(below) else None
    high = None
    if len(above):
        free = deepest + int(above[0])
        high = _bisected(touching, looked[free], looked[free - 1])
    return Span(low, high)


def _bisected(touching: Callable[[float], bool], free: float, touched: float) -> float:
    while abs(free - touched) > PRECISION_T:
        middle = 0.5 * (free + touched)
        if touching(middle):
            touched = middle
        else:
            free = middle
    return float(touched)


def deepest_between(depth: Callable[[float], float], low: float, high: float) -> float:
    """Return the t between two poses at which a depth with one peak is largest, by golden section (Kiefer 1953)."""
    left, right = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    at_left, at_right = depth(left), depth(right)
    for _ in range(FINER_STEPS):
        if at_left >= at_right:
            high, right, at_right = right, left, at_left
            left = high - GOLDEN * (high - low)
            at_left = depth(left)
        else:
            low, left, at_left = left, right, at_right
            right = low + GOLDEN * (high - low)
            at_right = depth(right)
    return float(left if at_left >= at_right else right)
