"""What stops a closing jaw: the first of all meetings that go deeper than is forgiven."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ...model.arrays import BoolArray, IntArray
from ...model.progress import Job, saying
from ...model.snapshot import Role
from ..fitting import Fitting
from ..motion.poses import Poses
from ..mouth.lips import Lips
from .body import Body, Matter, PosedBodies
from .course import Course, Touch, at_mm
from .encounter import Encounter, Overlap
from .forgiveness import Forgiveness
from .looking import looked_at
from .pairs import LIPS, Company, Give, Pair, known_company

OPPOSITE = {Role.LOWER_TEETH: LIPS[:1], Role.UPPER_TEETH: LIPS[1:]}
"""Teeth that meet their own lip move with it; hardware may meet either."""


@dataclass(frozen=True)
class Contact:
    """The first touch of a piece that would go deeper than it is forgiven.

    Attributes
    ----------
    course
        Who touches, on the way.
    number
        Place of the piece that touches among the first body's.
    touch
        When and where: rigid bodies are apart just above its t; a lip is pressed deeper than it gives way just below.
    """

    course: Course
    number: int
    touch: Touch

    @property
    def t(self) -> float:
        """The pose."""
        return self.touch.t

    @property
    def pair(self) -> Pair:
        """Who touches."""
        return self.course.encounter.pair

    @cached_property
    def at_mm(self) -> tuple[float, float, float]:
        """The place that goes in first, where it stands then."""
        x, y, z = self.course.encounter.places_mm(self.touch.points[:1], self.t)[0]
        return float(x), float(y), float(z)

    @property
    def first_name(self) -> str:
        """Name of the first body's part."""
        return self.pair.first.part.name

    @property
    def piece(self) -> str:
        """Name of the piece of the first body that touches: a tooth, or the part."""
        return self.pair.first.pieces[self.number]

    @property
    def other_name(self) -> str:
        """Name of what it touches: a tooth, a part or a lip."""
        firm = self.touch.firm
        about = self.course.encounter.other_piece_of(firm)[np.isin(firm.points, self.touch.points[:1])]
        return self.pair.second.pieces[int(about[0])]

    @property
    def cause(self) -> str:
        """What is wrong, for whatever else comes of it."""
        return self.pair.cause(self.piece)

    @cached_property
    def vertices(self) -> IntArray:
        """Vertices of the first part that are in the way there, ascending; those of crossing triangles if none is."""
        first, firm = self.pair.first, self.touch.firm
        mine = firm.points[self.course.encounter.piece_of(firm) == self.number]
        used = first.anchor[mine[mine < len(first.anchor)]]
        if not len(used):
            corners = first.faces[firm.faces[:, 0]].ravel()
            used = corners[first.piece[corners] == self.number]
        return np.unique(first.vertex_ids[used])


@dataclass(frozen=True, eq=False)
class Stops:
    """What can stop one closing jaw, looked at from wide open to closed.

    Attributes
    ----------
    courses
        One for each pair that can, over 0..1.
    own
        The same for the performer's own teeth, which meet on the bare head too.
    """

    courses: tuple[Course, ...]
    own: tuple[Course, ...] = ()

    def first(self) -> Contact | None:
        """Return the contact that comes first on the way from wide open to closed, or None."""
        return _first(self.courses)

    def by_pair(self) -> dict[Pair, Course]:
        """Return every course by its pair, the own teeth's too."""
        return {course.encounter.pair: course for course in (*self.courses, *self.own)}

    def first_own(self) -> Contact | None:
        """Return the contact of the performer's own teeth that comes first, or None."""
        return _first(self.own)

    def between(self, apart_t: float, touch_t: float) -> Contact | None:
        """Return the contact that comes first between two poses past closed, or None."""
        found: list[Contact] = []
        for course in self.courses:
            ends = course.encounter.overlap(touch_t), course.encounter.overlap(apart_t)
            step = replace(course, overlaps=ends)
            found += _contacts(step, step.firm[0] & ~step.firm[1], apart_t)
        return max(found, key=lambda contact: contact.t, default=None)


def _first(courses: Sequence[Course]) -> Contact | None:
    found = [contact for course in courses for contact in _contacts(course, in_the_way(course))]
    return max(found, key=lambda contact: contact.t, default=None)


def _contacts(course: Course, pieces: BoolArray, until: float = np.inf) -> Iterator[Contact]:
    for number in np.flatnonzero(pieces).tolist():
        touch = course.touch(number, 1, until)
        if touch is not None:
            yield Contact(course, number, touch)


def in_the_way(course: Course) -> BoolArray:
    """Return which pieces of a pair's first body do not let the jaw by, ``(pieces,)``.

    What is rigid has to be clear all the way; a lip that is pressed on the way and free once the jaw is closed has been
    pushed aside.
    """
    return np.asarray(course.firm[0] if course.yields else course.firm.any(axis=0))


def look_for_stops(fitting: Fitting, poses: Poses, lips: Lips, steps: int) -> Job[Stops]:
    """Look at all that can stop a closing jaw, at poses that part its way in ``steps``.

    Yields
    ------
    Progress
        Poses looked at.
    """
    company = yield from known_company(fitting)
    stage = PosedBodies(poses, {})
    times = np.linspace(0.0, 1.0, steps + 1).tolist()
    looking = looked_at(fitting, stopping_pairs(fitting, company, lips), stage, times)
    looked = yield from saying("closing the jaw", looking)
    courses = [_course(fitting, encounter, row) for encounter, row in looked]
    # On a scan with an open mouth the own teeth are what ends the closing: there they are its bite.
    bites = poses.source.rest_t > 0.0
    return Stops(
        tuple(course for course in courses if bites or not course.encounter.pair.own),
        tuple(course for course in courses if course.encounter.pair.own),
    )


def _course(fitting: Fitting, encounter: Encounter, row: Sequence[Overlap]) -> Course:
    """Return the course of a pair; what is there wide open already is no meeting."""
    forgiven = Forgiveness.of(fitting)
    usual = at_mm(row[-1], encounter.size)
    return Course(encounter, tuple(row), usual, forgiven.review_mm(encounter.pair), fitting.brief.limits.contact_mm)


def stopping_pairs(fitting: Fitting, company: Company, lips: Lips) -> list[Pair]:
    """Return the pairs that can stop a closing jaw.

    Teeth and hardware against each other, and against the lip they close on, the performer's and what is worn on it.
    The lips against each other are not here: that is a seal.
    """
    pairs = [pair for pair in company.pairs if pair.give == Give.HARD]
    pairs += [pair for pair in company.in_lips if pair.second.name in _met(pair.first) and not pair.own]
    for pair in company.pairs:
        if pair.give == Give.FLESH and pair.second.matter == Matter.PIECE:
            pairs += _in_worn_lip(fitting, pair, lips)
    return pairs


def _met(body: Body) -> tuple[str, ...]:
    return OPPOSITE.get(body.part.role, LIPS)


def _in_worn_lip(fitting: Fitting, pair: Pair, lips: Lips) -> Iterator[Pair]:
    """Yield a pair with only as much of a worn piece as is the lip that teeth or hardware close on."""
    second = pair.second
    worn = np.zeros(len(second.part.faces), bool)
    for name, lip in zip(LIPS, (lips.upper, lips.lower), strict=True):
        if name in _met(pair.first) and second.part.name in lip.parts:
            worn[lip.face_ids[lip.parts.index(second.part.name)]] = True
    counting = second.counting & worn[second.face_ids]
    if counting.any():
        yield replace(pair, second=replace(second, counting=counting))
