"""Which bodies could run into each other on this design."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from ...model.arrays import BoolArray
from ...model.snapshot import Part, Role
from ..fitting import Fitting
from ..motion.base_motion import JAW
from ..mouth.line import missing_landmarks
from ..mouth.lips import Lips
from ..worn import worn_parts
from .body import Body, Matter, rigid_body, skin_bodies, worn_body
from .reach import Reach

LOWER_FIRST = (Role.LOWER_TEETH, Role.UPPER_TEETH)
"""Of two rows that meet, the lower moves: it is the one that runs into the other."""
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
        return Give.FLESH if self.first.matter == Matter.RIGID else Give.SOFT

    @property
    def mutual(self) -> bool:
        """Whether either is asked how deep it is in the other."""
        return self.first.matter == self.second.matter


@dataclass(frozen=True)
class Company:
    """All pairs of a design, and what could not be looked at.

    Attributes
    ----------
    pairs
        Who could meet.
    missing
        Sentences about what could not be paired and what to add.
    """

    pairs: tuple[Pair, ...]
    missing: tuple[str, ...]


def company_of(fitting: Fitting, reach: Reach) -> Company:
    """Return the pairs of a design.

    Teeth and hardware against each other, against worn pieces, teeth against the lips and hardware against all skin,
    worn pieces against each other. What lies on the skin by design is no pair with it.
    """
    teeth = [part for role in LOWER_FIRST for part in fitting.snapshot.with_role(role)]
    hardware = list(worn_parts(fitting, Role.HARDWARE))
    worn = worn_parts(fitting, Role.APPLIANCE)
    rigid = {part.name: rigid_body(fitting, part) for part in (*teeth, *hardware)}
    pairs = [*_among_rigid(rigid, reach), *_in_worn(fitting, rigid, worn, reach), *_among_worn(fitting, worn, reach)]
    pairs += _in_skin(fitting, [rigid[part.name] for part in hardware], reach)
    in_lips, missing = _in_lips(fitting, [rigid[part.name] for part in teeth])
    return Company(tuple(pairs + in_lips), tuple(missing))


def _among_rigid(rigid: dict[str, Body], reach: Reach) -> Iterator[Pair]:
    bodies = list(rigid.values())
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


def _in_lips(fitting: Fitting, teeth: list[Body]) -> tuple[list[Pair], list[str]]:
    """Pair each row of teeth with each lip of the performer."""
    if not teeth:
        return [], []
    absent = missing_landmarks(fitting)
    if absent or JAW not in fitting.motion_names:
        what = f"landmarks: {', '.join(absent)}" if absent else "a jaw motion, or the landmarks of a hinge"
        return [], [f"Teeth against lips could not be looked at: the lips are not known. Add {what}."]
    buried = [row.part.name for row in teeth if _buried(fitting, row.part)]
    if buried:
        return [], [
            f"Teeth against lips could not be looked at: {', '.join(buried)} lie in the flesh of a head that has no "
            "mouth inside. Model the inside of the lips."
        ]
    lips = Lips(fitting, fitting.poses(JAW), (fitting.base,))
    counting = {
        "upper lip": _faces_of(fitting, lips.upper.face_ids),
        "lower lip": _faces_of(fitting, lips.lower.face_ids),
    }
    bodies = skin_bodies(fitting, _round_the_lips(fitting, lips), counting)
    return [Pair(row, lip) for row in teeth for lip in bodies], []


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
    low, high = lip.min(axis=0) - ROOM_MM, lip.max(axis=0) + ROOM_MM
    return np.asarray((corners.max(axis=1) >= low).all(axis=1) & (corners.min(axis=1) <= high).all(axis=1))


def _buried(fitting: Fitting, part: Part) -> bool:
    """Tell whether most of a row of teeth lies below the base's surface at rest."""
    used = np.unique(part.faces)
    probes = part.vertices_mm[used[:: max(1, len(used) // PROBES)]]
    return bool((fitting.base_surface.clearance_mm(probes) < 0.0).mean() > BURIED_SHARE)
