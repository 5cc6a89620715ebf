"""How one pair fares through one motion: how deep each piece goes at each pose, and where it first touches."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Concatenate, ParamSpec, TypeVar

import numpy as np

from ...geometry.rows import row_norms
from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.kept_answers import answered
from .encounter import Encounter, Overlap
from .pairs import Give

Asked = ParamSpec("Asked")
Found = TypeVar("Found")

PRECISION_T = 2e-5
"""Bisection stops when the start of a contact is known this closely."""
FINER_STEPS = 9
"""Golden sections that narrow down the deepest pose between two that were looked at."""
GOLDEN = 0.5 * (5.0**0.5 - 1.0)
TOUCH_MM = 1e-4
"""A place that is no deeper than this in the other body is free of it."""
NEAR_MM = 2.0
"""Triangles that cross within this of a place meet there; further off they meet somewhere else."""
DEEPEST_SHARE, MOST_PLACES = 0.98, 32
"""Which points are the place that goes in first: those about as deep as the deepest, so many at the most."""


@dataclass(frozen=True)
class Span:
    """From where to where in a motion two things touch; None where they still do at that end of it."""

    low: float | None
    high: float | None


@dataclass(frozen=True)
class Touch:
    """Where a piece first touches what it goes deeper into than it is forgiven.

    Attributes
    ----------
    t
        The pose.
    points
        The places that go in there, counted as in an overlap, ``(k,)``, the deepest first.
    firm
        What overlaps where the forgiveness is used up.
    """

    t: float
    points: IntArray
    firm: Overlap


@dataclass(frozen=True, eq=False)
class Course:
    """One pair in one motion.

    A touch counts when it is one of those that go deeper than is forgiven: what only grazes is passed by.

    Attributes
    ----------
    encounter
        The pair in the motion.
    overlaps
        What was seen at each pose looked at, by ascending t.
    usual_mm
        How deep each point is without anything being wrong; only what goes beyond counts, ``(size,)``.
    forgiven_mm, contact_mm
        How deep the pair may go, and what counts as touching for two that are never free of each other.
    """

    encounter: Encounter
    overlaps: tuple[Overlap, ...]
    usual_mm: FloatArray
    forgiven_mm: float
    contact_mm: float

    @property
    def motion(self) -> str:
        """Name of the motion."""
        return self.encounter.motion

    @property
    def content(self) -> bytes:
        """A digest of all that decides about it; of an encounter whose answers are kept.

        Raises
        ------
        ValueError
            Of any other: nothing covers a motion that is only tried.
        """
        if self.encounter.known is None:
            raise ValueError("a motion that is only tried")
        kept, key = self.encounter.known
        return kept.contents.of(key, self.overlaps, self.usual_mm, self.forgiven_mm, self.contact_mm)

    def kept(
        self, find: Callable[Concatenate[Course, Asked], Found], *asked: Asked.args, **named: Asked.kwargs
    ) -> Found:
        """Return what a function finds of this course, worked out once where its encounter's answers are kept."""
        known = self.encounter.known
        return answered(known[0] if known else None, find, self, *asked, **named)

    @cached_property
    def looked_t(self) -> FloatArray:
        """Poses looked at, ascending ``(s,)``."""
        return np.array([overlap.t for overlap in self.overlaps])

    def beyond_mm(self, overlap: Overlap) -> FloatArray:
        """Return how deep each overlapping point is beyond what is usual, ``(k,)``."""
        return overlap.depth_mm - self.usual_mm[overlap.points]

    def depths_mm(self, overlap: Overlap) -> FloatArray:
        """Return how deep each piece of the first body is at one pose beyond what is usual, ``(pieces,)``."""
        deepest = np.zeros(len(self.encounter.pair.first.pieces))
        np.maximum.at(deepest, self.encounter.piece_of(overlap), self.beyond_mm(overlap))
        return deepest

    @cached_property
    def table_mm(self) -> FloatArray:
        """Depth of each piece at each pose looked at, ``(poses, pieces)``."""
        return np.stack([self.depths_mm(overlap) for overlap in self.overlaps])

    @cached_property
    def firm(self) -> BoolArray:
        """Whether each piece is deeper than is forgiven at each pose looked at, ``(poses, pieces)``."""
        return self.table_mm > self.forgiven_mm

    @cached_property
    def crossing(self) -> BoolArray:
        """Whether each piece's triangles cross anything at each pose looked at, ``(poses, pieces)``."""
        return np.stack([self.encounter.crossing_pieces(overlap.faces) for overlap in self.overlaps])

    @property
    def yields(self) -> bool:
        """Whether the second body is flesh, which things lie on: it is met where it has given way."""
        return self.encounter.pair.give in (Give.FLESH, Give.LIP)

    def comes_free(self, piece: int) -> bool:
        """Tell whether a piece is free at some pose, and in the way where it is deepest."""
        depth = self.table_mm[:, piece]
        if self.yields:
            return bool(self.firm[depth.argmax(), piece]) and not self.firm[:, piece].all()
        free = (depth <= self.contact_mm) & ~(self.crossing[:, piece] & ~self.crossing[:, piece].all())
        return bool(depth.max() > self.contact_mm) and bool(free.any())

    def span(self, piece: int) -> Span:
        """Return between which t a piece is in the way, each end bisected."""
        low, high = self.touch(piece, -1), self.touch(piece, 1)
        return Span(None if low is None else low.t, None if high is None else high.t)

    def touch(self, piece: int, step: int, until: float = np.inf) -> Touch | None:
        """Return where a piece first touches, coming from one end of the motion; None where it is never free there.

        Parameters
        ----------
        piece
            Place among the first body's pieces; somewhere it has to be ``firm``.
        step
            1 coming from the highest t, -1 from the lowest.
        until
            Touches beyond this t are not looked for.
        """
        return self.kept(Course.find_touch, piece, step, until)

    def find_touch(self, piece: int, step: int, until: float) -> Touch | None:
        """Look for what ``touch`` returns."""
        firm = np.flatnonzero(self.firm[:, piece])
        inside = int(firm[-1] if step > 0 else firm[0])
        if not 0 <= inside + step < len(self.overlaps):
            return None
        encounter = self.encounter
        asked = self.overlaps[inside].points[encounter.piece_of(self.overlaps[inside]) == piece]

        def firmly(t: float) -> bool:
            if not encounter.solid and not encounter.crossing_pieces(encounter.crossings(t))[piece]:
                return False
            return bool((encounter.depths_mm(asked, t) - self.usual_mm[asked]).max() > self.forgiven_mm)

        firm_t = bisected(firmly, self.looked_t[inside + step], self.looked_t[inside])
        overlap = encounter.overlap(firm_t)
        if not self.depths_mm(overlap)[piece] > 0.0:
            overlap = self.overlaps[inside]
        places = self._deepest_points(overlap, piece)
        if self.yields:
            return Touch(firm_t, places, overlap)
        t = self._first_touch(piece, places, firm_t, step, until)
        return None if t is None else Touch(t, places, overlap)

    def _deepest_points(self, overlap: Overlap, piece: int) -> IntArray:
        beyond = np.where(self.encounter.piece_of(overlap) == piece, self.beyond_mm(overlap), -np.inf)
        order = np.argsort(-beyond, kind="stable")[:MOST_PLACES]
        return overlap.points[order[beyond[order] >= DEEPEST_SHARE * beyond[order[0]]]]

    def _first_touch(self, piece: int, places: IntArray, firm_t: float, step: int, until: float) -> float | None:
        """Go back from where a piece is firmly in to where its place comes free, or is no deeper than it usually is."""
        beyond = self.looked_t[(self.looked_t - firm_t) * step > 0.0][::step]
        beyond = beyond[beyond <= until]

        def meets(t: float) -> bool:
            return self._meets_near(piece, places, t)

        def deeper(t: float) -> bool:
            return bool(self.depths_mm(self.encounter.overlap(t))[piece] > self.contact_mm)

        for touching in (meets, deeper):
            touched = firm_t
            for t in beyond.tolist():
                if not touching(t):
                    return bisected(touching, t, touched)
                touched = t
        return firm_t if np.isfinite(until) else None

    def _meets_near(self, piece: int, places: IntArray, t: float) -> bool:
        """Tell whether the two touch at some places of theirs, ``(k,)``, or just beside these."""
        encounter = self.encounter
        if encounter.stage.apart(encounter.pair.first, encounter.pair.second, t):
            return False
        if (encounter.depths_mm(places, t) - self.usual_mm[places] > TOUCH_MM).any():
            return True
        faces = encounter.crossings(t)
        first = encounter.pair.first
        met, _ = encounter.meeting_points(faces[first.piece[first.faces[faces[:, 0], 0]] == piece], t)
        far_mm = row_norms(met[:, None] - encounter.places_mm(places, t)[None])
        return bool((far_mm <= NEAR_MM).any())

    def deepest(self, piece: int) -> Overlap:
        """Return the overlap at a piece's deepest pose, looked for between its neighbours where it is not at an end."""
        return self.kept(Course.find_deepest, piece)

    def find_deepest(self, piece: int) -> Overlap:
        """Look for what ``deepest`` returns."""
        depths = self.table_mm[:, piece]
        place = int(depths.argmax())
        if place in (0, len(self.overlaps) - 1):
            return self.overlaps[place]

        def depth_mm(t: float) -> float:
            return float(self.depths_mm(self.encounter.overlap(t))[piece])

        t = deepest_between(depth_mm, self.overlaps[place - 1].t, self.overlaps[place + 1].t)
        finer = self.encounter.overlap(t)
        return finer if self.depths_mm(finer)[piece] > depths[place] else self.overlaps[place]


def bisected(touching: Callable[[float], bool], free: float, touched: float) -> float:
    """Return the last t that still touches on the way from one that does to one that does not."""
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


def always_mm(seen: Sequence[tuple[Encounter, Sequence[Overlap]]]) -> FloatArray:
    """Return how deep each point of a pair is at every pose of every motion, ``(size,)``: roots, mounts, seams."""
    usual = np.full(seen[0][0].size, np.inf)
    for overlap in (overlap for _, row in seen for overlap in row):
        np.minimum(usual, at_mm(overlap, len(usual)), out=usual)
    return usual


def at_mm(overlap: Overlap, size: int) -> FloatArray:
    """Return how deep each point of a pair is at one pose, ``(size,)``; 0 outside."""
    here = np.zeros(size)
    here[overlap.points] = overlap.depth_mm
    return here
