"""One pair in one motion: where the two meet at any t, and how deep the one is in the other."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ...geometry.contact.meeting import meeting_points
from ...geometry.contact.penetration import depths_below_mm
from ...geometry.contact.swept import swept_crossings
from ...geometry.rigid import fit_rigid
from ...geometry.rows import highs, lows, row_all
from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.kept_answers import KeptAnswers
from .body import Body, PosedBodies
from .pairs import Give, Pair

NOTHING = np.zeros(0, np.int64)
NO_FACES = np.zeros((0, 2), np.int64)


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
    known
        Where what is asked of it is kept, and a key that covers all that decides about it; None in a motion that is
        only tried.
    """

    def __init__(self, pair: Pair, stage: PosedBodies, known: tuple[KeptAnswers, bytes] | None = None) -> None:
        self.pair, self.stage, self.known = pair, stage, known
        self.size = len(pair.first.anchor) + (len(pair.second.anchor) if pair.mutual else 0)

    @property
    def motion(self) -> str:
        """Name of the motion."""
        return self.stage.poses.name

    @cached_property
    def solid(self) -> bool:
        """Whether both are closed and rigid: what lies in the other can be told without triangles that cross."""
        bodies = (self.pair.first, self.pair.second)
        return self.pair.give == Give.HARD and all(self.stage.surface(body, 0.0).closed for body in bodies)

    def crossings(self, t: float) -> IntArray:
        """Return triangles of the first and the second body that pass through each other at ``t``, ``(p, 2)``."""
        first, second = self.pair.first, self.pair.second
        if self.stage.apart(first, second, t):
            return NO_FACES
        one, two = self.stage.surface(first, t), self.stage.surface(second, t)
        smaller = len(first.faces) <= len(second.faces)
        found = np.asarray(one.crossings(two)) if smaller else np.asarray(two.crossings(one))[:, ::-1]
        return np.asarray(found[first.counting[found[:, 0]] & second.counting[found[:, 1]]], dtype=np.int64)

    def meeting_points(self, faces: IntArray, t: float) -> tuple[FloatArray, IntArray]:
        """Return the ends of the lines along which crossing triangles ``(p, 2)`` meet at ``t``.

        Returns
        -------
        points
            ``(k, 3)`` mm.
        row
            Which of the pairs each belongs to, ``(k,)``.
        """
        first, second = self.pair.first, self.pair.second
        one, two = (self.stage.vertices(body, t) + body.off_mm for body in (first, second))
        return meeting_points(one, first.faces, two, second.faces, faces)

    def overlap(self, t: float) -> Overlap:
        """Return where the pair overlaps at ``t``.

        Between two solids that is all that lies in the other; where one of them is open, only what belongs to pieces
        whose triangles cross.
        """
        first, second = self.pair.first, self.pair.second
        faces = self.crossings(t)
        points, depth, onto = self._inside(first, second, faces, t)
        if self.pair.mutual:
            others, other_depth, other_onto = self._inside(second, first, faces[:, ::-1], t)
            points = np.concatenate([points, others + len(first.anchor)])
            depth, onto = np.concatenate([depth, other_depth]), np.concatenate([onto, other_onto])
        return Overlap(t, points, depth, onto, faces)

    def _inside(self, body: Body, other: Body, crossing: IntArray, t: float) -> tuple[IntArray, FloatArray, IntArray]:
        """Return the points of a body that lie in another, how deep, and nearest to what."""
        if self.stage.apart(body, other, t) or not (self.solid or len(crossing)):
            return NOTHING, np.zeros(0), NOTHING
        asked, entered = body.of_crossing(crossing[:, 0]), other.of_crossing(crossing[:, 1])
        if self.solid:
            asked[:], entered[:] = True, True
        solid = self.stage.surface(other, t)
        at = self.stage.points(body, t)
        held = solid.vertices_mm[entered[other.piece]]
        reach_mm = other.depth_mm + body.radius_mm[:, None]
        near = row_all((at >= lows(held) - reach_mm) & (at <= highs(held) + reach_mm))
        if not self.solid:
            near &= body.radius_mm == 0.0
        ids = np.flatnonzero(asked[body.piece[body.anchor]] & near)
        depth, face = depths_below_mm(solid, at[ids], other.thickness_mm, body.radius_mm[ids], self.solid)
        kept = (depth > 0.0) & other.counting[face]
        return ids[kept], depth[kept], face[kept]

    def depths_mm(self, points: IntArray, t: float) -> FloatArray:
        """Return how deep some points ``(k,)``, counted as in an overlap, are in the other body at ``t``, ``(k,)``."""
        first, second = self.pair.first, self.pair.second
        own = points < len(first.anchor)
        at, depth = self.places_mm(points, t), np.zeros(len(points))
        for side, body, other in ((own, first, second), (~own, second, first)):
            ids = points[side] - (0 if body is first else len(first.anchor))
            solid = self.stage.surface(other, t)
            found, face = depths_below_mm(solid, at[side], other.thickness_mm, body.radius_mm[ids], self.solid)
            depth[side] = np.where(other.counting[face], found, 0.0)
        return depth

    def passes(self, before: float, after: float) -> BoolArray:
        """Return which pieces of the first body go through any wall of the second between two poses, ``(pieces,)``.

        Of two rigid bodies, whose way from one pose to the next is taken to be straight; of others it is not told.
        """
        first, second = self.pair.first, self.pair.second
        ends = [[self.stage.vertices(body, t) for body in (first, second)] for t in (before, after)]
        passing = np.zeros(len(first.pieces), bool)
        if self.pair.give != Give.HARD or _boxes_apart(*(np.concatenate(rows) for rows in zip(*ends, strict=True))):
            return passing
        (one, two), (one_after, two_after) = ends
        seen_by = [fit_rigid(two_after, two).apply(one_after), fit_rigid(one_after, one).apply(two_after)]
        ahead = swept_crossings(one, seen_by[0], first.edges, self.stage.surface(second, before))
        back = swept_crossings(two, seen_by[1], second.edges, self.stage.surface(first, before))
        passing[first.piece[first.edges[ahead[:, 0], 0]]] = True
        passing[first.piece[first.faces[back[:, 1], 0]]] = True
        return passing

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

    def shell_of(self, overlap: Overlap) -> IntArray:
        """Return the shell of the first body that each overlapping point is about, ``(k,)``."""
        first = self.pair.first
        own = overlap.points < len(first.anchor)
        shell = np.zeros(len(overlap.points), np.int64)
        shell[own] = first.shell[first.anchor[overlap.points[own]]]
        shell[~own] = first.shell[first.faces[overlap.onto[~own], 0]]
        return shell

    def other_piece_of(self, overlap: Overlap) -> IntArray:
        """Return the place among the second body's pieces that each overlapping point is about, ``(k,)``."""
        first, second = self.pair.first, self.pair.second
        number = overlap.points - len(first.anchor)
        place = np.zeros(len(number), np.int64)
        place[number < 0] = second.piece[second.faces[overlap.onto[number < 0], 0]]
        place[number >= 0] = second.piece[second.anchor[number[number >= 0]]]
        return place

    def mostly_into(self, piece: int, overlap: Overlap) -> str:
        """Return the name of what most of a piece of the first body runs into: a tooth, a part or a lip."""
        about = self.other_piece_of(overlap)[self.piece_of(overlap) == piece]
        return self.pair.second.pieces[int(np.bincount(about).argmax())] if len(about) else self.pair.second.whole_name

    def crossing_pieces(self, faces: IntArray) -> BoolArray:
        """Return which pieces of the first body have triangles among some crossing ones ``(p, 2)``."""
        return self.pair.first.of_crossing(faces[:, 0])

    def radius_mm(self, points: IntArray) -> FloatArray:
        """Return the radius of the ball round points ``(k,)`` counted as in an overlap, ``(k,)``; 0 on the skin."""
        both = np.concatenate([self.pair.first.radius_mm, self.pair.second.radius_mm])
        return np.asarray(both[points])

    def places_mm(self, points: IntArray, t: float) -> FloatArray:
        """Return where some points ``(k,)``, counted as in an overlap, are at ``t``, ``(k, 3)``, mm."""
        first, second = self.pair.first, self.pair.second
        number = points - len(first.anchor)
        at = np.zeros((len(points), 3))
        at[number < 0] = self.stage.points(first, t)[points[number < 0]]
        if (number >= 0).any():
            at[number >= 0] = self.stage.points(second, t)[number[number >= 0]]
        return at


def _boxes_apart(one_mm: FloatArray, other_mm: FloatArray) -> bool:
    low = np.maximum(lows(one_mm), lows(other_mm))
    return bool((low > np.minimum(highs(one_mm), highs(other_mm))).any())
