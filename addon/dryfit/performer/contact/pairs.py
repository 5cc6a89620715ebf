"""Which bodies could run into each other on this design."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from ...geometry.rows import highs, lows, row_all, row_highs, row_lows
from ...model.arrays import BoolArray
from ...model.progress import Job, Progress
from ...model.snapshot import Part, Role
from ..fitting import Fitting
from ..motion.base_motion import JAW
from ..mouth.known_lips import bare_lips
from ..mouth.line import missing_landmarks
from ..mouth.lips import Lips
from ..tooth_names import the
from ..worn import worn_parts
from .body import Body, Matter, rigid_body, skin_bodies, worn_body
from .reach import Reach

LOWER_FIRST = (Role.LOWER_TEETH, Role.UPPER_TEETH)
"""Of two rows that meet, the lower moves: it is the one that runs into the other."""
LIPS = ("upper lip", "lower lip")
ROOM_MM = 12.0
"""Skin this far round the lips is looked at too, to tell the inside of a lip from its outside."""
PROBES = 400
BURIED_SHARE = 0.5
"""Teeth of which more than this share lies in the flesh at rest are in a head that has no mouth inside."""


class Give(StrEnum):
    """How two bodies give way to each other: which limits they are held against."""

    HARD = "hard"
    FLESH = "flesh"
    SOFT = "soft"
    LIP = "lip"


@dataclass(frozen=True, eq=False)
class Pair:
    """Two bodies; how deep the first runs into the second is asked, and the other way round unless it is flesh."""

    first: Body
    second: Body

    @property
    def give(self) -> Give:
        """How the two give way."""
        if self.second.matter == Matter.RIGID:
            return Give.HARD
        if self.second.name in LIPS:
            return Give.LIP
        return Give.FLESH if self.first.matter == Matter.RIGID else Give.SOFT

    @property
    def mutual(self) -> bool:
        """Whether either is asked how deep it is in the other."""
        return self.first.matter == self.second.matter

    @property
    def own(self) -> bool:
        """Whether both are the performer's own, so that what they do is not the design's."""
        return self.first.own and self.second.own

    def cause(self, piece: str) -> str:
        """Return what is wrong, in words, where a piece of the first body keeps the jaw from closing."""
        return f"{the(piece)} against {the(self.second.whole_name)} as the jaw closes"


@dataclass(frozen=True)
class Company:
    """All pairs of a design, and what could not be looked at.

    Attributes
    ----------
    pairs
        Who could meet.
    missing
        Sentences about what could not be paired and what to add.
    in_lips
        Teeth and hardware with each lip by itself, as a closing mouth is asked.
    """

    pairs: tuple[Pair, ...]
    missing: tuple[str, ...]
    in_lips: tuple[Pair, ...] = ()


def known_company(fitting: Fitting) -> Job[Company]:
    """Return the pairs of a design; found once, whoever asks."""
    return (yield from fitting.once(known_company, lambda: _found(fitting)))


def _found(fitting: Fitting) -> Job[Company]:
    yield Progress(0, 1, "finding what could meet")
    return company_of(fitting)


def company_of(fitting: Fitting) -> Company:
    """Return the pairs of a design.

    Teeth and hardware against each other, against worn pieces, teeth against the lips and hardware against all skin,
    worn pieces against each other. What lies on the skin by design is no pair with it.
    """
    reach = Reach(fitting)
    teeth = [part for role in LOWER_FIRST for part in fitting.snapshot.with_role(role)]
    hardware = list(worn_parts(fitting, Role.HARDWARE))
    worn = worn_parts(fitting, Role.APPLIANCE)
    rigid = {part.name: rigid_body(fitting, part) for part in (*hardware, *teeth)}
    pairs = [*_among_rigid(rigid, reach), *_in_worn(fitting, rigid, worn, reach), *_among_worn(fitting, worn, reach)]
    pairs += _in_skin(fitting, [rigid[part.name] for part in hardware], reach)
    rows, castings = ([rigid[part.name] for part in parts] for parts in (teeth, hardware))
    in_lips, closing, missing = _in_lips(fitting, rows, castings)
    return Company(tuple(pairs + in_lips), tuple(missing), tuple(closing))


def _among_rigid(rigid: dict[str, Body], reach: Reach) -> Iterator[Pair]:
    """Yield pairs of rigid bodies; what was made for the design comes first, as it is the one that can be changed."""
    bodies = sorted(rigid.values(), key=lambda body: body.own)
    for place, first in enumerate(bodies):
        for second in bodies[place + 1 :]:
            if reach.near(first.part, second.part).any() and reach.near(second.part, first.part).any():
                yield Pair(first, second)


def _in_worn(fitting: Fitting, rigid: dict[str, Body], worn: list[Part], reach: Reach) -> Iterator[Pair]:
    for part in worn:
        for first in rigid.values():
            second = worn_body(fitting, part, reach.near(part, first.part))
            if second is not None:
                yield Pair(first, second)


def _among_worn(fitting: Fitting, worn: list[Part], reach: Reach) -> Iterator[Pair]:
    for place, one in enumerate(worn):
        for two in worn[place + 1 :]:
            first = worn_body(fitting, one, reach.near(one, two))
            second = worn_body(fitting, two, reach.near(two, one))
            if first is not None and second is not None:
                yield Pair(first, second)


def _in_skin(fitting: Fitting, hardware: list[Body], reach: Reach) -> Iterator[Pair]:
    everywhere = {"performer's skin": np.ones(len(fitting.base.faces), bool)}
    for first in hardware:
        for second in skin_bodies(fitting, reach.near(fitting.base, first.part), everywhere):
            yield Pair(first, second)


def _in_lips(fitting: Fitting, teeth: list[Body], hardware: list[Body]) -> tuple[list[Pair], list[Pair], list[str]]:
    """Pair rows of teeth, and pieces of hardware, with each lip of the performer.

    A closing mouth is asked for all of them. Motions of all kinds are not, where rows lie in the flesh of a head that
    has no mouth inside.
    """
    absent = missing_landmarks(fitting)
    if absent or JAW not in fitting.motion_names:
        what = f"landmarks: {', '.join(absent)}" if absent else "a jaw motion, or the landmarks of a hinge"
        unknown = f"Teeth against lips could not be looked at: the lips are not known. Add {what}."
        return [], [], [unknown] if teeth else []
    if not teeth and not hardware:
        return [], [], []
    buried = [row for row in teeth if _buried(fitting, row.part)]
    closing = [Pair(body, lip) for lip in _lip_bodies(fitting) for body in (*hardware, *teeth)]
    if not buried:
        return [pair for pair in closing if pair.first in teeth], closing, []
    names = ", ".join(row.part.name for row in buried)
    return [], closing, [
        f"Teeth against lips could not be looked at: {names} lie in the flesh of a head that has no mouth inside. "
        "Model the inside of the lips."
    ]  # fmt: skip


def _lip_bodies(fitting: Fitting) -> list[Body]:
    lips = bare_lips(fitting)
    sides = (lips.upper.face_ids, lips.lower.face_ids)
    counting = {name: _faces_of(fitting, ids) for name, ids in zip(LIPS, sides, strict=True)}
    return skin_bodies(fitting, _round_the_lips(fitting, lips), counting)


def _faces_of(fitting: Fitting, face_ids: tuple[np.ndarray, ...]) -> BoolArray:
    mask = np.zeros(len(fitting.base.faces), bool)
    for ids in face_ids:
        mask[ids] = True
    return mask


def _round_the_lips(fitting: Fitting, lips: Lips) -> BoolArray:
    """Return which triangles of the base reach into the box of both lips at rest, widened by ``ROOM_MM``, ``(m,)``."""
    corners = fitting.base.vertices_mm[fitting.base.faces]
    lip = corners[_faces_of(fitting, (*lips.upper.face_ids, *lips.lower.face_ids))].reshape(-1, 3)
    if not len(lip):
        return np.zeros(len(corners), bool)
    low, high = lows(lip) - ROOM_MM, highs(lip) + ROOM_MM
    return np.asarray(row_all(row_highs(corners) >= low) & row_all(row_lows(corners) <= high))


def _buried(fitting: Fitting, part: Part) -> bool:
    """Tell whether most of a row of teeth lies below the base's surface at rest."""
    used = np.unique(part.faces)
    probes = part.vertices_mm[used[:: max(1, len(used) // PROBES)]]
    return bool((fitting.base_surface.clearance_mm(probes) < 0.0).mean() > BURIED_SHARE)
