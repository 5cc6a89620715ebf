"""What runs into what, put together from all motions: how deep at most, where, at which pose and from which pose on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ...model.arrays import FloatArray, IntArray
from ...model.limits import Limits
from ...performer.contact.course import Course
from ...performer.contact.encounter import Encounter, Overlap, Span
from ...performer.contact.pairs import Give, Pair
from ...performer.motion.base_motion import JAW

CLEARLY_DEEPER_MM = 0.25
"""A motion that never comes free takes the place of one that does only when it goes deeper by this."""


@dataclass(frozen=True, eq=False)
class Meeting:
    """One piece that runs into another body.

    Attributes
    ----------
    encounter
        The pair, in the motion in which it goes deepest.
    piece
        Place of the piece among the first body's.
    overlap
        At the deepest pose.
    depth_mm
        How deep, beyond what is there at every pose.
    span_motion, span
        A motion in which the two come free of each other, and the stretch of it in which they touch.
    """

    encounter: Encounter
    piece: int
    overlap: Overlap
    depth_mm: float
    span_motion: str
    span: Span

    @property
    def pair(self) -> Pair:
        """Who."""
        return self.encounter.pair

    @property
    def name(self) -> str:
        """Name of the piece that runs into something."""
        return self.pair.first.pieces[self.piece]

    @cached_property
    def points(self) -> IntArray:
        """Which of the overlap's points are about this piece, the deepest first."""
        chosen = np.flatnonzero(self.encounter.piece_of(self.overlap) == self.piece)
        return chosen[np.argsort(-self.overlap.depth_mm[chosen], kind="stable")]

    @cached_property
    def other_name(self) -> str:
        """Name of what most of it runs into: a tooth, a part or a lip."""
        second = self.pair.second
        return second.pieces[int(np.bincount(second.piece[self._other_used()]).argmax())]

    def _other_used(self) -> IntArray:
        """Return for each point a used vertex of the second body: its own, or a corner of what it is nearest to."""
        second = self.pair.second
        number = self.overlap.points[self.points] - len(self.pair.first.anchor)
        onto = np.where(number < 0, self.overlap.onto[self.points], 0)
        return np.where(number < 0, second.faces[onto, 0], second.anchor[np.maximum(number, 0)])

    def deepest_place(self) -> tuple[FloatArray, FloatArray]:
        """Return the deepest point at the deepest pose and at rest, ``(3,)`` each, mm."""
        first, second = self.pair.first, self.pair.second
        number = int(self.overlap.points[self.points[0]])
        body, place = (first, number) if number < len(first.anchor) else (second, number - len(first.anchor))
        posed = body.points(self.encounter.stage.vertices(body, self.overlap.t))[place]
        return np.asarray(posed), body.rest_point_mm(place)

    def vertices(self) -> IntArray:
        """Return the vertices of the first part that are in the way, ascending; those at the crossing if none is."""
        first = self.pair.first
        inside = self.overlap.points[self.points]
        used = first.anchor[inside[inside < len(first.anchor)]]
        if not len(used):
            corners = first.faces[self.overlap.faces[:, 0]].ravel()
            used = corners[first.piece[corners] == self.piece]
        return np.unique(first.vertex_ids[used])


def meetings_of(courses: Sequence[Course], limits: Limits) -> list[Meeting]:
    """Return one meeting for each piece of a pair's first body that goes deeper than is reviewed, the deepest first."""
    review_mm, _ = limits_mm(courses[0].encounter.pair.give, limits)
    peak = np.max([course.table_mm.max(axis=0) for course in courses], axis=0)
    found = [_meeting(courses, int(piece)) for piece in np.flatnonzero(peak > review_mm)]
    return sorted(found, key=lambda meeting: (-meeting.depth_mm, meeting.name))


def _meeting(courses: Sequence[Course], piece: int) -> Meeting:
    """Put a piece's courses together: where it is deepest, and a motion in which it comes free."""
    free = [course for course in courses if course.comes_free(piece)]

    def rank(course: Course) -> float:
        return float(course.table_mm[:, piece].max()) + CLEARLY_DEEPER_MM * (course in free)

    deepest = max(courses, key=rank)
    spanned = min(free, key=lambda course: (_least(course, piece), course.motion != JAW, -rank(course)), default=None)
    overlap = deepest.deepest(piece)
    return Meeting(
        encounter=deepest.encounter,
        piece=piece,
        overlap=overlap,
        depth_mm=float(deepest.depths_mm(overlap)[piece]),
        span_motion="" if spanned is None else spanned.motion,
        span=Span(None, None) if spanned is None else spanned.span(piece),
    )


def _least(course: Course, piece: int) -> float:
    """Return how deep a piece still is where it is shallowest, mm, to a hundredth."""
    return round(float(course.table_mm[:, piece].min()), 2)


def limits_mm(give: Give, limits: Limits) -> tuple[float, float]:
    """Return from which depth on a pair is to be reviewed, and from which on it fails, mm."""
    return {
        Give.HARD: (limits.overlap_hard_review_mm, limits.overlap_hard_mm),
        Give.FLESH: (limits.overlap_flesh_review_mm, limits.overlap_flesh_mm),
        Give.SOFT: (limits.overlap_soft_review_mm, limits.overlap_soft_mm),
    }[give]
