"""A snapshot being tried on: the same values with the indexes that several checks share, built once."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from contextlib import suppress
from dataclasses import fields, replace
from functools import cached_property
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from ..geometry import Surface
from ..geometry.areas import area_vectors, signed_volume_mm3
from ..geometry.binding import Binding, bind
from ..geometry.outer_skin import OuterSkin, outer_skin
from ..geometry.parted_binding import Cleft, bind_parted
from ..geometry.rows import row_norms
from ..model.arrays import FloatArray, IntArray
from ..model.brief import Brief, HingeBrief
from ..model.finding import Place
from ..model.kept_answers import KeptAnswers
from ..model.limits import Limits
from ..model.progress import Job
from ..model.snapshot import Part, Role, Snapshot
from ..model.withheld import withholding
from .head_frame import HeadFrame
from .indexed_bases import IndexedBases
from .landmarks.doubt import Doubt
from .landmarks.sense import landmark_doubts
from .lock import LockState
from .motion.base_motion import JAW, NoMotion, base_motion, field_on, motion_names, stated_excursion
from .motion.bones import find_mandible
from .motion.jaw_field import JawField
from .motion.lip_binding import mouth_cleft
from .motion.mandible import Mandible
from .motion.poses import Poses
from .regions import Regions
from .seen_near import SeenNear, seen_near

Found = TypeVar("Found")

TEETH = (Role.UPPER_TEETH, Role.LOWER_TEETH)
RIGID = (Role.HARDWARE, *TEETH)
WORN = (Role.APPLIANCE, Role.HARDWARE, *TEETH)
"""What is no part of a bare head: nothing that skin and eyes decide by themselves looks at these."""
HEAD_LIMITS = frozenset({"cheek_zone_mm", "fold_zone_mm", "lid_zone_mm", "lip_zone_mm"})
"""The limits that what is asked of a bare head reads: how far skin around mouth and eyes moves."""
HEAD_BRIEF = frozenset({"limits", "motions"})
"""And what else of a brief."""
NEVER_MEASURED = frozenset({"name", "source", "sha256", "lock", "exceptions", "notes"})
"""What of a snapshot is measured nowhere."""
NOT_HEAD = NEVER_MEASURED | {"cameras", "own", "proposed", "unmeasured"}
"""What of a snapshot no bare head has."""
NOT_HELD_AGAINST = frozenset({"source", "exceptions", "notes", "show"})
"""What of a brief nothing is held against."""
FLAT_SHARE = 0.97
"""Area that a base turns to one side, beyond which it is too flat to have an inside."""


def asked_of_head(snapshot: Snapshot, brief: Brief) -> tuple[Snapshot, Brief]:
    """Return what of a design may be asked about its bare head, the rest withheld."""
    limits = withholding(brief.limits, {entry.name for entry in fields(Limits)} - HEAD_LIMITS)
    others = {entry.name for entry in fields(Brief)} - HEAD_BRIEF
    return withholding(snapshot, NOT_HEAD), withholding(replace(brief, limits=limits), others)


class Fitting:
    """One variant on its base, with its surfaces indexed on first use.

    Parameters
    ----------
    snapshot
        An admitted snapshot.
    brief
        The brief it is measured against.
    bases
        Bases that were indexed for other variants; None where there are no others.
    """

    def __init__(self, snapshot: Snapshot, brief: Brief, bases: IndexedBases | None = None) -> None:
        self.snapshot = snapshot
        self.brief = brief
        self._bases = bases or IndexedBases()
        self._surfaces: dict[str, Surface] = {}
        self._poses: dict[str, Poses] = {}
        self._jaw_fields: dict[HingeBrief, JawField] = {}
        self._skins: dict[str, OuterSkin] = {}
        self._bindings: dict[str, Binding] = {}
        self._among: dict[frozenset[str], Fitting] = {}
        self._found: dict[object, Any] = {}

    @cached_property
    def content(self) -> bytes:
        """A digest of all that is measured and held against; not of files' names, notes, exceptions and the lock."""
        snapshot = withholding(self.snapshot, NEVER_MEASURED)
        return self.kept.contents.of(snapshot, self._brief_content)

    @cached_property
    def _brief_content(self) -> bytes:
        return self.kept.contents.of(withholding(self.brief, NOT_HELD_AGAINST))

    @property
    def kept(self) -> KeptAnswers:
        """Answers kept by content, from this design and from others before it."""
        return self._bases.answers

    @cached_property
    def head(self) -> Fitting:
        """The bare head: the base with its eyes, the same one for every design on it.

        What is asked of it cannot depend on what is worn, nor on a limit that is held against that: asking it for
        another than a head's own is an error. It is worked out once. Where the jaw makes an excursion,
        which is laid along the edge of the lower teeth, these are part of it.
        """
        excursions = (stated_excursion(self.snapshot, self.brief, name) for name in self.motion_names)
        worn = self.snapshot.with_role(*(WORN[:-1] if any(excursions) else WORN))
        if not worn:
            return self
        bare = self._of_parts({part.name for part in self.snapshot.parts} - {part.name for part in worn})
        bare.snapshot, bare.brief = asked_of_head(bare.snapshot, bare.brief)
        del bare.__dict__["_brief_content"]
        bare._bases = IndexedBases(self._bases.of_heads)
        return self._bases.known_head(bare)

    def alone(self, part: Part) -> Fitting:
        """Return the bare head with one part alone: what is asked of it cannot depend on any other that is worn."""
        return self.among(part)

    def among(self, *parts: Part) -> Fitting:
        """Return the bare head with some parts: what is asked of it cannot depend on any other that is worn.

        With hardware come the teeth: it may be worn on them, and moves as they do. With teeth come all others: rows
        without keys move as the jaw does, which is read from a row that has some.
        """
        held_by = self.snapshot.with_role(*TEETH) if any(part.role in RIGID for part in parts) else ()
        names = frozenset(part.name for part in (*parts, *held_by, *self.head.snapshot.parts))
        if len(names) == len(self.snapshot.parts):
            return self
        if names not in self._among:
            other = self._of_parts(names)
            other.__dict__["head"] = self.head
            # each is of one part on this head alone
            other._surfaces, other._skins, other._bindings = self._surfaces, self._skins, self._bindings
            self._among[names] = other
        return self._among[names]

    def _of_parts(self, names: Collection[str]) -> Fitting:
        other = Fitting(self.snapshot.of_parts(names), self.brief, self._bases)
        other.__dict__["_brief_content"] = self._brief_content  # one design's: it need not be read for each piece
        other.__dict__["base_surface"] = self.base_surface
        return other

    def instead(self, snapshot: Snapshot) -> Fitting:
        """Return another admitted snapshot held against the same brief; what is known of this one serves it too."""
        return Fitting(snapshot, self.brief, self._bases)

    def in_lane(self, number: int) -> Fitting:
        """Return the same design for another thread: its own poses and moved surfaces, the same answers kept.

        Parameters
        ----------
        number
            Tells the threads apart; each design of one thread finds the head of the one before it.
        """
        other = Fitting(self.snapshot, self.brief, self._bases.of_lane(number))
        for known in ("content", "_brief_content", "base_surface", "landmark_doubts", "lock_state", "seen_near"):
            with suppress(Exception):  # whoever asks for it tells what is wrong
                other.__dict__[known] = getattr(self, known)
        return other

    def once(self, what: object, find: Callable[[], Job[Found]]) -> Job[Found]:
        """Return what a long search finds about this fitting, searched for by whoever asks first.

        Parameters
        ----------
        what
            Names what is found.
        find
            Starts the search.
        """
        if what not in self._found:
            self._found[what] = yield from find()
        found: Found = self._found[what]
        return found

    def found(self, what: object, find: Callable[[], Found]) -> Found:
        """Return what is found about this fitting in no time to speak of, by whoever asks first; as ``once``."""
        if what not in self._found:
            self._found[what] = find()
        found: Found = self._found[what]
        return found

    @property
    def base(self) -> Part:
        """The performer's scan."""
        return self.snapshot.base

    @cached_property
    def regions(self) -> Regions:
        """Names for places on this head."""
        return Regions.from_landmarks(self.snapshot.landmarks)

    def place(
        self,
        part: str,
        at_mm: npt.ArrayLike,
        region: str | None = None,
        *,
        rest_mm: npt.ArrayLike | None = None,
        motion: str = "",
        t: float = 0.0,
    ) -> Place:
        """Return where something is found, in words of this head: the one way from a point to a finding's place.

        Parameters
        ----------
        part
            Name of the part.
        at_mm
            The point ``(3,)``, mm, world space, in the pose.
        region
            Words for it; None asks the head's regions.
        rest_mm
            Where the same point is at rest ``(3,)``, mm, which names the region; None where that is not known.
        motion, t
            The pose; ``""`` is rest.
        """
        x, y, z = (float(value) for value in np.asarray(at_mm, dtype=np.float64))
        named = self.regions.name((x, y, z) if rest_mm is None else rest_mm) if region is None else region
        return Place(part, (x, y, z), named, motion, t)

    @cached_property
    def lock_state(self) -> LockState:
        """Whether this is still the locked base."""
        return LockState.of(self.snapshot)

    @cached_property
    def landmark_doubts(self) -> tuple[Doubt, ...]:
        """What looks wrong with the landmarks on this base; empty where nothing does."""
        if self.head is not self:
            return self.head.landmark_doubts
        return landmark_doubts(self.snapshot.landmarks, self.base_surface)

    @cached_property
    def seen_near(self) -> tuple[SeenNear, ...]:
        """What is seen near the face and was not measured, the nearest first."""
        return seen_near(self.snapshot.unmeasured, self.base_surface)

    @cached_property
    def base_inside_out(self) -> bool:
        """Whether the base's faces look inward; its surface is measured the right way round all the same.

        By the volume within; of a base so flat that it has none, by the way the face looks.
        """
        facing, size_mm2, volume_mm3 = self._bases.of_heads.of(_turned, self.base.vertices_mm, self.base.faces)
        if np.linalg.norm(facing) > FLAT_SHARE * size_mm2:
            front = HeadFrame.from_landmarks(self.snapshot.landmarks).front
            return bool(facing @ front < -1e-9 * np.linalg.norm(facing))
        return volume_mm3 < 0.0

    @cached_property
    def base_surface(self) -> Surface:
        """The base at rest, indexed, facing outward."""
        faces = self.base.faces[:, ::-1] if self.base_inside_out else self.base.faces
        return self._bases.surface(self.base.vertices_mm, faces)

    def surface(self, part: Part) -> Surface:
        """Return the part at rest, indexed; built once."""
        if part.name == self.base.name:
            return self.base_surface
        if part.name not in self._surfaces:
            self._surfaces[part.name] = self.kept.of(Surface, part.vertices_mm, part.faces)
        return self._surfaces[part.name]

    def gap_mm(self, part: Part, other: Part) -> float:
        """Return how near a part comes to another at rest, mm: its nearest vertex; found once."""
        return self.kept.of(_gap_mm, part, self.surface(other))

    @cached_property
    def mouth_cleft(self) -> Cleft | None:
        """The base's skin on either side of the line between the lips; None where that is not known."""
        return mouth_cleft(self, self.poses) if self.head is self else self.head.mouth_cleft

    def binding(self, part: Part) -> Binding:
        """Return how a part without keys is bound to the base, each lip's pieces to their own lip; found once."""
        if part.name not in self._bindings:
            asked = (self.base_surface, self.mouth_cleft, part.vertices_mm, part.faces)
            self._bindings[part.name] = self.kept.of(_bound, *asked)
        return self._bindings[part.name]

    @property
    def motion_names(self) -> tuple[str, ...]:
        """Names of the motions that can be posed: keyed ones, hinges of the brief, and a jaw from landmarks."""
        return motion_names(self.snapshot, self.brief)

    def jaw_field(self, stated: HingeBrief) -> JawField:
        """Return how much of a hinge's turn each point of the base takes; found once, its landmarks must be there."""
        if self.head is not self:
            return self.head.jaw_field(stated)
        if stated not in self._jaw_fields:
            self._jaw_fields[stated] = field_on(self, stated)
        return self._jaw_fields[stated]

    @cached_property
    def mandible(self) -> Mandible | None:
        """The path of the lower jaw, read from the motion that opens the mouth; None where that shows none."""
        return self.kept.of(_mandible, self.among(*self.snapshot.with_role(Role.LOWER_TEETH)))

    def poses(self, motion_name: str) -> Poses:
        """Return where every part is in the named motion; made once.

        Raises
        ------
        NoMotion
            When there is no such motion, with what to add.
        """
        if motion_name not in self._poses:
            self._poses[motion_name] = Poses(self, motion_name)
        return self._poses[motion_name]

    def posed_parts(self, motion_name: str, t: float) -> dict[str, FloatArray]:
        """Return every part's vertices ``(n, 3)``, mm, at ``t`` of a motion; none where it cannot be posed."""
        if motion_name not in self.motion_names:
            return {}
        poses = self.poses(motion_name)
        return {part.name: poses.vertices(part.name, t) for part in self.snapshot.parts}

    def following_parts(
        self, motion_name: str, ids: Mapping[str, IntArray]
    ) -> Callable[[float], dict[str, FloatArray]]:
        """Return where some vertices ``(k,)`` of some parts are at any t of a motion; costs what those cost.

        Raises
        ------
        NoMotion
            When there is no such motion, with what to add.
        KeyError
            When no part has one of the names.
        """
        poses = self.poses(motion_name)
        posed = {name: poses.following(name, vertices) for name, vertices in ids.items()}
        return lambda t: {name: each(t) for name, each in posed.items()}

    def skin(self, part: Part) -> OuterSkin:
        """Return the outer skin of an appliance over the base; found once."""
        if part.name not in self._skins:
            asked = (part.vertices_mm, part.faces, self.base_surface, self.brief.limits.contact_mm)
            self._skins[part.name] = self.kept.of(outer_skin, *asked)
        return self._skins[part.name]


def _turned(vertices_mm: FloatArray, faces: IntArray) -> tuple[FloatArray, float, float]:
    """Return the sum of the faces' area vectors ``(3,)``, their area, mm2, and the volume within, mm3."""
    vectors = area_vectors(vertices_mm[faces])
    return vectors.sum(axis=0), float(row_norms(vectors).sum()), signed_volume_mm3(vertices_mm, faces)


def _gap_mm(part: Part, other: Surface) -> float:
    return float(other.closest(part.vertices_mm[np.unique(part.faces)]).distance_mm.min())


def _mandible(fitting: Fitting) -> Mandible | None:
    try:
        opening = base_motion(fitting, JAW)
    except NoMotion:
        return None
    return find_mandible(fitting.snapshot, opening)


def _bound(base: Surface, cleft: Cleft | None, points_mm: FloatArray, faces: IntArray) -> Binding:
    """Return how points are bound to the base, on either side of the cleft between the lips where that is known."""
    parted = bind_parted(base, cleft, points_mm, faces) if cleft is not None else None
    return parted or bind(base, points_mm)
