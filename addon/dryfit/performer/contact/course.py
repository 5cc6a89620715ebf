"""How one pair fares through one motion: how deep each piece goes at each pose, and where it touches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ...model.arrays import BoolArray, FloatArray
from ...model.limits import Limits
from .encounter import Encounter, Overlap, Span, deepest_between, span_of
from .pairs import Give


@dataclass(frozen=True, eq=False)
class Course:
    """One pair in one motion.

    Attributes
    ----------
    encounter
        The pair in the motion.
    overlaps
        What was seen at each pose looked at, by ascending t.
    usual_mm
        How deep each point is at every pose of every motion; only what goes beyond counts, ``(size,)``.
    limits
        What depths are held against.
    """

    encounter: Encounter
    overlaps: tuple[Overlap, ...]
    usual_mm: FloatArray
    limits: Limits

    @property
    def motion(self) -> str:
        """Name of the motion."""
        return self.encounter.motion

    def depths_mm(self, overlap: Overlap) -> FloatArray:
        """Return how deep each piece of the first body is at one pose beyond what is usual, ``(pieces,)``."""
        deepest = np.zeros(len(self.encounter.pair.first.pieces))
        beyond = overlap.depth_mm - self.usual_mm[overlap.points]
        np.maximum.at(deepest, self.encounter.piece_of(overlap), beyond)
        return deepest

    @cached_property
    def table_mm(self) -> FloatArray:
        """Depth of each piece at each pose looked at, ``(poses, pieces)``."""
        return np.stack([self.depths_mm(overlap) for overlap in self.overlaps])

    @cached_property
    def crossing(self) -> BoolArray:
        """Whether each piece's triangles cross anything at each pose looked at, ``(poses, pieces)``."""
        return np.stack([self.encounter.crossing_pieces(overlap.faces) for overlap in self.overlaps])

    def by_touch(self, piece: int) -> bool:
        """Tell whether the first touch of a piece can be told: it comes free somewhere, and isn't flesh to lie on."""
        return self.encounter.pair.give != Give.FLESH and not self.crossing[:, piece].all()

    def touching(self, piece: int) -> BoolArray:
        """Return whether a piece touches at each pose looked at, ``(poses,)``; on flesh: deeper than is reviewed."""
        deep = self.table_mm[:, piece] > self._level_mm
        return np.asarray(deep | self.crossing[:, piece] if self.by_touch(piece) else deep)

    @property
    def _level_mm(self) -> float:
        flesh = self.encounter.pair.give == Give.FLESH
        return self.limits.overlap_flesh_review_mm if flesh else self.limits.contact_mm

    def comes_free(self, piece: int) -> bool:
        """Tell whether a piece touches where it is deepest and is free at some other pose."""
        flags = self.touching(piece)
        return bool(flags[self.table_mm[:, piece].argmax()]) and not flags.all()

    def span(self, piece: int) -> Span:
        """Return between which t a piece touches, each end bisected; ask ``comes_free`` first."""
        encounter, level_mm, by_touch = self.encounter, self._level_mm, self.by_touch(piece)

        def touches(t: float) -> bool:
            if by_touch and encounter.crossing_pieces(encounter.crossings(t))[piece]:
                return True
            return bool(self.depths_mm(encounter.overlap(t))[piece] > level_mm)

        looked = np.array([overlap.t for overlap in self.overlaps])
        return span_of(touches, looked, self.touching(piece), int(self.table_mm[:, piece].argmax()))

    def deepest(self, piece: int) -> Overlap:
        """Return the overlap at a piece's deepest pose, looked for between its neighbours where it is not at an end."""
        depths = self.table_mm[:, piece]
        place = int(depths.argmax())
        if place in (0, len(self.overlaps) - 1):
            return self.overlaps[place]

        def depth_mm(t: float) -> float:
            return float(self.depths_mm(self.encounter.overlap(t))[piece])

        t = deepest_between(depth_mm, self.overlaps[place - 1].t, self.overlaps[place + 1].t)
        finer = self.encounter.overlap(t)
        return finer if self.depths_mm(finer)[piece] > depths[place] else self.overlaps[place]


def courses_of(seen: Sequence[tuple[Encounter, Sequence[Overlap]]], limits: Limits) -> tuple[Course, ...]:
    """Return one pair's courses through its motions, each with what is usual in all of them."""
    usual = np.full(seen[0][0].size, np.inf)
    for overlap in (overlap for _, row in seen for overlap in row):
        here = np.zeros(len(usual))
        here[overlap.points] = overlap.depth_mm
        np.minimum(usual, here, out=usual)
    return tuple(Course(encounter, tuple(row), usual, limits) for encounter, row in seen)
