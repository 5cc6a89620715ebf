"""The snapshot: everything a check may look at, in millimetres and world space, frozen."""

from collections.abc import Collection, Mapping
from copy import copy
from dataclasses import dataclass, field, replace
from enum import StrEnum
from types import MappingProxyType

import numpy as np

from .arrays import FloatArray, IntArray, frozen, frozen_faces, frozen_points
from .exceptions import WrittenException
from .own_figures import OwnFigures
from .pickling import Refrozen
from .unmatched import Unmatched
from .unmeasured import Unmeasured


class Role(StrEnum):
    """What an object is in the design."""

    BASE = "base"
    APPLIANCE = "appliance"
    UPPER_TEETH = "upper_teeth"
    LOWER_TEETH = "lower_teeth"
    HARDWARE = "hardware"
    EYE_LEFT = "eye_left"
    EYE_RIGHT = "eye_right"
    IGNORE = "ignore"


OWNABLE = (Role.UPPER_TEETH, Role.LOWER_TEETH, Role.EYE_LEFT, Role.EYE_RIGHT)
"""Roles of what may be the performer's own."""
TISSUE = (Role.BASE, Role.APPLIANCE)
"""Roles that bend with the face; every other role is rigid."""

LANDMARKS = (
    "tragion_left", "tragion_right", "cheilion_left", "cheilion_right",
    "labiale_superius", "labiale_inferius", "stomion_superius", "stomion_inferius",
    "subnasale", "pronasale", "gnathion",
    "endocanthion_left", "endocanthion_right", "exocanthion_left", "exocanthion_right",
    "pupil_left", "pupil_right", "alare_left", "alare_right", "sellion", "vertex_top", "opisthocranion",
)  # fmt: skip
"""Landmark names, after ISO 7250-1 and the anthropometry literature. Left is the performer's left."""

FARTHEST_MM = 1e6
"""Nothing of a design lies further from the origin, 1 km: beyond, single precision no longer tells 0.1 mm."""


@dataclass(frozen=True)
class Part(Refrozen):
    """One object of the design.

    Attributes
    ----------
    name
        The object's name, as the user knows it.
    role
        What the object is.
    vertices_mm
        Rest position, ``(n, 3)``, world space.
    faces
        Triangles, ``(m, 3)``, counter-clockwise seen from outside unless the object is inside out.
    material
        Name of a material of the brief, or ``""``.
    areas
        Named vertex weights ``(n,)`` in 0..1, for instance ``dryfit_lip_upper``.
    own
        Whether teeth or an eye are the performer's own, as the base is: what they do without the design is the head's.
    """

    name: str
    role: Role
    vertices_mm: FloatArray
    faces: IntArray
    material: str = ""
    areas: Mapping[str, FloatArray] = field(default_factory=dict)
    own: bool = False

    def __post_init__(self) -> None:
        """Freeze the arrays, so that no check can change what the next one sees."""
        object.__setattr__(self, "role", Role(self.role))
        object.__setattr__(self, "vertices_mm", frozen_points(self.vertices_mm))
        object.__setattr__(self, "faces", frozen_faces(self.faces))
        areas = {name: frozen(weights, np.float64) for name, weights in self.areas.items()}
        object.__setattr__(self, "areas", MappingProxyType(areas))


@dataclass(frozen=True)
class Motion(Refrozen):
    """One parameter t in [0, 1] that poses every part that carries key frames.

    Attributes
    ----------
    name
        ``jaw``, ``blink`` or any other name.
    frames_t
        Ascending parameters of the key frames, ``(k,)``, k >= 2.
    frames_mm
        Part name -> posed vertices ``(k, n, 3)``. Parts that are not named ride the base.
    """

    name: str
    frames_t: FloatArray
    frames_mm: Mapping[str, FloatArray]

    def __post_init__(self) -> None:
        """Freeze the arrays."""
        object.__setattr__(self, "frames_t", frozen(self.frames_t, np.float64))
        frames = {name: frozen(posed, np.float64) for name, posed in self.frames_mm.items()}
        object.__setattr__(self, "frames_mm", MappingProxyType(frames))

    def of_parts(self, names: Collection[str]) -> "Motion":
        """Return the same motion of some parts alone; the arrays are shared."""
        other = copy(self)
        kept = {name: frames for name, frames in self.frames_mm.items() if name in names}
        object.__setattr__(other, "frames_mm", MappingProxyType(kept))
        return other

    def moves(self, part: str) -> bool:
        """Tell whether the named part carries key frames of this motion."""
        return part in self.frames_mm

    def vertices_at(self, part: str, t: float) -> FloatArray:
        """Return the part's vertices ``(n, 3)``, mm, at ``t``; outside 0..1 the end segments go on straight.

        Raises
        ------
        KeyError
            When the part carries no key frames of this motion.
        """
        frames = self.frames_mm[part]
        last = len(self.frames_t) - 2
        segment = int(np.clip(np.searchsorted(self.frames_t, t, side="right") - 1, 0, last))
        start, end = self.frames_t[segment], self.frames_t[segment + 1]
        share = (t - start) / (end - start)
        posed: FloatArray = frames[segment] * (1.0 - share) + frames[segment + 1] * share
        return posed


@dataclass(frozen=True)
class Camera:
    """A place to look from, mm, world space."""

    name: str
    position_mm: tuple[float, float, float]


@dataclass(frozen=True)
class Lock(Refrozen):
    """The base as it was when it was locked.

    Attributes
    ----------
    fingerprint
        SHA-256 of the locked vertices (rounded to 1 µm) and faces.
    vertices_mm
        The locked vertices ``(n, 3)``, or an empty array where only the fingerprint was kept.
    """

    fingerprint: str
    vertices_mm: FloatArray = field(default_factory=lambda: np.zeros((0, 3)))

    def __post_init__(self) -> None:
        """Freeze the array."""
        object.__setattr__(self, "vertices_mm", frozen_points(self.vertices_mm))


@dataclass(frozen=True)
class Snapshot(Refrozen):
    """One variant on one base, ready to be measured.

    Attributes
    ----------
    name
        The variant's name.
    source
        The file it came from, as given.
    sha256
        Hash of that file, or ``""``.
    parts
        Every object with a role other than ``ignore``.
    landmarks
        Landmark name -> ``(3,)`` point, mm, world space.
    motions
        Motion name -> motion. Hinge motions of a brief are not here: they are computed from landmarks.
    cameras
        Scene cameras that the brief may name as views.
    lock
        The locked base, or None.
    exceptions
        Exceptions stored with the scene.
    notes
        What the reader wants the user to know.
    own
        Limits and figures of materials that the file states itself, over its brief, and motions without keys.
    proposed
        Landmark -> the error to reckon with, mm, for those that were proposed and that nobody confirmed; inf where it
        is not known. Every other landmark was placed or confirmed by somebody.
    unmeasured
        What the scene shows beside the parts: nothing that is near the face may be among it where a design passes.
    rims_mm
        Name -> a line ``(k, 3)``, mm, world space, along which somebody would like an edge to end.
    lost_motions
        Motion -> why it could not be read: nothing in the file has the key, bone or property that it names.
    unmatched
        What the brief names under ``[roles]`` and nothing in the file is called.
    """

    name: str
    source: str = ""
    sha256: str = ""
    parts: tuple[Part, ...] = ()
    landmarks: Mapping[str, FloatArray] = field(default_factory=dict)
    motions: Mapping[str, Motion] = field(default_factory=dict)
    cameras: tuple[Camera, ...] = ()
    lock: Lock | None = None
    exceptions: tuple[WrittenException, ...] = ()
    notes: tuple[str, ...] = ()
    own: OwnFigures = field(default_factory=OwnFigures)
    proposed: Mapping[str, float] = field(default_factory=dict)
    unmeasured: tuple[Unmeasured, ...] = ()
    lost_motions: Mapping[str, str] = field(default_factory=dict)
    unmatched: tuple[Unmatched, ...] = ()
    rims_mm: Mapping[str, FloatArray] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Freeze the mappings."""
        points = {name: frozen(np.asarray(point).reshape(3), np.float64) for name, point in self.landmarks.items()}
        object.__setattr__(self, "landmarks", MappingProxyType(points))
        errors_mm = {name: float(error) for name, error in self.proposed.items() if name in points}
        object.__setattr__(self, "proposed", MappingProxyType(errors_mm))
        object.__setattr__(self, "motions", MappingProxyType(dict(self.motions)))
        object.__setattr__(self, "lost_motions", MappingProxyType(dict(self.lost_motions)))
        lines = {name: frozen_points(line) for name, line in self.rims_mm.items()}
        object.__setattr__(self, "rims_mm", MappingProxyType(lines))
        object.__setattr__(self, "parts", tuple(self.parts))

    @property
    def base(self) -> Part:
        """The performer's scan.

        Raises
        ------
        StopIteration
            When there is none; an admitted snapshot always has one.
        """
        return next(part for part in self.parts if part.role == Role.BASE)

    def with_role(self, *roles: Role) -> tuple[Part, ...]:
        """Return the parts with one of the roles, in their stored order."""
        return tuple(part for part in self.parts if part.role in roles)

    def of_parts(self, names: Collection[str]) -> "Snapshot":
        """Return the same snapshot of some parts alone, in their stored order, with their motions; arrays are shared.

        A motion stays even where it moves none of them: that it is there says something too.
        """
        return replace(
            self,
            parts=tuple(part for part in self.parts if part.name in names),
            motions={name: motion.of_parts(names) for name, motion in self.motions.items()},
        )

    def part(self, name: str) -> Part:
        """Return the part of that name.

        Raises
        ------
        KeyError
            When no part has it.
        """
        for part in self.parts:
            if part.name == name:
                return part
        raise KeyError(name)
