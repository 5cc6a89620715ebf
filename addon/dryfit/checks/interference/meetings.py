"""What runs into what, put together from all motions: how deep at most, where, at which pose and from which pose on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ...model.arrays import FloatArray, IntArray
from ...performer.contact.course import Course, Span
from ...performer.contact.encounter import Encounter, Overlap
from ...performer.contact.pairs import Pair
from ...performer.motion.base_motion import JAW

TIE_MM = 1e-6
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
        # Of what is equally deep the skin goes before the middle of a ball.
        depth_mm = self.overlap.depth_mm[chosen] - TIE_MM * (
            self.encounter.radius_mm(self.overlap.points[chosen]) > 0.0
        )
        return chosen[np.argsort(-depth_mm, kind="stable")]

    @cached_property
    def other_name(self) -> str:
        """Name of what most of it runs into: a tooth, a part or a lip."""
        return self.encounter.mostly_into(self.piece, self.overlap)

    def deepest_place(self) -> tuple[FloatArray, FloatArray]:
        """Return the deepest point at the deepest pose and at rest, ``(3,)`` each, mm."""
        first, second = self.pair.first, self.pair.second
        number = int(self.overlap.points[self.points[0]])
        body, place = (first, number) if number < len(first.anchor) else (second, number - len(first.anchor))
        posed = self.encounter.stage.points(body, self.overlap.t)[place]
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


def meetings_of(courses: Sequence[Course]) -> list[Meeting]:
    """Return one meeting for each piece of a pair's first body that goes deeper than is forgiven, the deepest first."""
    firm = np.any([course.firm.any(axis=0) for course in courses], axis=0)
    found = [_meeting(courses, int(piece)) for piece in np.flatnonzero(firm)]
    return sorted(found, key=lambda meeting: (-meeting.depth_mm, meeting.name))


def _meeting(courses: Sequence[Course], piece: int) -> Meeting:
    """Put a piece's courses together: where it is deepest, and a motion in which it comes free."""
    free = [course for course in courses if course.firm[:, piece].any() and course.comes_free(piece)]

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
