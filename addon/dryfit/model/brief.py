"""The brief: roles, motions, limits, materials and views, as frozen values."""

import fnmatch
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from types import MappingProxyType

import numpy as np

from .arrays import FloatArray
from .exceptions import WrittenException
from .limits import Limits
from .materials import MATERIALS, Material
from .pickling import freeze_mappings
from .snapshot import Role, Snapshot

MM_PER_UNIT: Mapping[str, float] = MappingProxyType({"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4})
"""Units a mesh file may be stated in."""


@dataclass(frozen=True)
class BaseBrief:
    """Where the base is, for folders of bare meshes.

    Attributes
    ----------
    file
        The file it is in, from the brief's own folder.
    object
        Its object's name there, where the file holds more than one mesh.
    """

    file: str = ""
    object: str = ""


@dataclass(frozen=True)
class UnitsBrief:
    """The unit of files that carry none; ``""`` means not stated.

    Attributes
    ----------
    mesh_files
        The unit of OBJ, PLY and STL files. It is never guessed.
    """

    mesh_files: str = ""


@dataclass(frozen=True)
class HingeBrief:
    """A jaw that turns about an axis found from landmarks, with the forward slide that goes with it.

    Attributes
    ----------
    open_deg
        Turn at t = 1.
    slide_deg_per_mm
        Degrees of turn for each millimetre of forward slide (Leader et al. 2003: about 1.5).
    slide_down_deg
        Direction of the slide below the line from tragion to eye corner, degrees. Leader et al. 2003 (J Biomech
        36:275-281) measured 6.95 mm down on 21.07 mm forward, 18 degrees below the horizontal; that line rises about
        12 degrees over it (13.5 on the CC0 head).
    rest_deg
        How far the mouth is open already in the scan or sculpt, degrees; None means found from the lips.
    axis_offset_mm
        Distance of the axis points in front of each tragion toward the outer eye corner.
    axis_left_mm, axis_right_mm
        The wearer's own axis, mm, world space; empty means from landmarks.
    """

    open_deg: float = 25.0
    slide_deg_per_mm: float = 1.5
    slide_down_deg: float = 30.0
    rest_deg: float | None = None
    axis_offset_mm: float = 12.0
    axis_left_mm: tuple[float, ...] = ()
    axis_right_mm: tuple[float, ...] = ()


class Way(StrEnum):
    """Which way the jaw goes beside opening; left is the performer's."""

    LEFT = "left"
    RIGHT = "right"
    AHEAD = "ahead"


EXCURSIONS: Mapping[str, Way] = MappingProxyType(
    {"protrusion": Way.AHEAD, "laterotrusion_left": Way.LEFT, "laterotrusion_right": Way.RIGHT}
)
"""Names of motions that say by themselves which way the jaw goes."""


@dataclass(frozen=True)
class ExcursionBrief:
    """The jaw to one side or forward, from closed, on the hinge of the jaw.

    Attributes
    ----------
    way
        Which way.
    amount_mm
        How far the lower incisors go at t = 1; None means the published mean.
    part_mm
        How far they sink meanwhile, so that the teeth clear each other. Upper incisors overlap lower ones by 2.9 mm
        on average (Brunelle, Bhat & Lipton 1996, J Dent Res 75:706-713).
    """

    way: Way
    amount_mm: float | None = None
    part_mm: float = 2.9


@dataclass(frozen=True)
class BoneBrief:
    """A bone of a rig that turns about one of its own axes.

    Attributes
    ----------
    armature, name
        The armature's object, and the bone of it.
    rotation_deg
        Its turn at t = 0 and t = 1; 0 is the bone's rest.
    axis
        ``X``, ``Y`` or ``Z`` of the bone itself.
    """

    armature: str
    name: str
    rotation_deg: tuple[float, float]
    axis: str = "X"


@dataclass(frozen=True)
class PropertyBrief:
    """A custom property that a rig's drivers read.

    Attributes
    ----------
    object, name
        The object that has it, or whose data or bones have it, and its name.
    values
        Its values at t = 0 and t = 1.
    """

    object: str
    name: str
    values: tuple[float, float] = (0.0, 1.0)


@dataclass(frozen=True)
class MotionBrief:
    """One motion: shape key values at its ends, or a hinge, or an excursion of the jaw on it, or what a rig does.

    Attributes
    ----------
    keys
        A shape key's name -> its values at t = 0 and t = 1.
    hinge
        The jaw turned about an axis found from landmarks.
    excursion
        The jaw to one side or forward, on that hinge.
    bone
        A bone of a rig that turns.
    property
        A custom property that a rig's drivers read.
    frames
        The frames of the file's own animation at t = 0 and t = 1.
    """

    keys: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    hinge: HingeBrief | None = None
    excursion: ExcursionBrief | None = None
    bone: BoneBrief | None = None
    property: PropertyBrief | None = None
    frames: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        """Freeze the mapping."""
        freeze_mappings(self, "keys")

    def is_of_rig(self) -> bool:
        """Whether a rig makes it, which Blender poses."""
        return self.bone is not None or self.property is not None or self.frames is not None


@dataclass(frozen=True)
class Views:
    """Where a design is looked at from.

    Attributes
    ----------
    angles_deg
        Turns about the vertical: 0 is the front, positive the performer's left.
    cameras
        Names, or patterns such as ``Shot*``; the plain ``*`` is every camera before the face.
    distance_mm
        How far from the face the turned views stand.
    """

    angles_deg: tuple[float, ...] = (-60.0, -30.0, 0.0, 30.0, 60.0)
    cameras: tuple[str, ...] = ("*",)
    distance_mm: float = 2000.0


@dataclass(frozen=True)
class Performer:
    """What is known of the performer, for figures that differ with it.

    Attributes
    ----------
    age_years
        Age; None where nobody stated it.
    sex
        ``woman``, ``man`` or ``""``: what teeth may show is published apart.
    """

    age_years: float | None = None
    sex: str = ""


@dataclass(frozen=True)
class WearBrief:
    """How long a design is worn.

    Attributes
    ----------
    hours
        Hours at a stretch; None where nobody stated it.
    """

    hours: float | None = None


@dataclass(frozen=True)
class ShowBrief:
    """What stands in the head of a sheet: nothing of it changes what is measured.

    Attributes
    ----------
    title, character, performer
        The show, who is played and who plays; a name or a call sheet number.
    revision, date
        Which revision of the design, and of when.
    decides
        Who signs for exceptions.
    """

    title: str = ""
    character: str = ""
    performer: str = ""
    revision: str = ""
    date: str = ""
    decides: str = ""


@dataclass(frozen=True)
class TeethBrief:
    """Which teeth and eyes are the performer's own, and which are meant to be seen.

    Attributes
    ----------
    own
        The performer's own, by their objects' names or patterns; None: not stated.
    shown
        Teeth of a creature that are meant to be seen, by words or patterns: a word without a wildcard is looked for in
        the object's and the tooth's name, whatever its case.
    """

    own: tuple[str, ...] | None = None
    shown: tuple[str, ...] = ()

    def says_own(self, name: str) -> bool:
        """Tell whether it says that an object's teeth are the performer's own."""
        return any(fnmatch.fnmatchcase(name, pattern) for pattern in self.own or ())

    def says_shown(self, *names: str) -> bool:
        """Tell whether any of the names of a tooth is one of those that are meant to be seen."""
        patterns = [word if set(word) & set("*?[") else f"*{word}*" for word in self.shown]
        return any(fnmatch.fnmatchcase(name.lower(), each.lower()) for name in names for each in patterns)


@dataclass(frozen=True)
class EdgesBrief:
    """Where edges lie that no camera sees, and those that one comes close to.

    Attributes
    ----------
    hidden
        Names of pieces or regions, or patterns, under hair, hat or costume: an edge may be thicker there.
    close_up
        The same, seen near: an edge may not.
    """

    hidden: tuple[str, ...] = ()
    close_up: tuple[str, ...] = ()


@dataclass(frozen=True)
class RoomBrief:
    """What is settled of the room before it is asked for.

    Attributes
    ----------
    taken
        Names of regions, or patterns, whose forms come first: where a motion brings other skin against them, all of
        the space between is theirs, and the other side gets none. Without it both sides share evenly.
    rims
        A name -> a line of points, mm, world space, along which an edge is meant to end: the nearest one that skin
        allows is suggested.
    """

    taken: tuple[str, ...] = ()
    rims: Mapping[str, tuple[tuple[float, float, float], ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Freeze the mapping."""
        freeze_mappings(self, "rims")

    def says_taken(self, region: str) -> bool:
        """Tell whether it says that a region is taken."""
        return any(fnmatch.fnmatchcase(region.lower(), pattern.lower()) for pattern in self.taken)


@dataclass(frozen=True)
class Brief:
    """Everything the user stated about a design.

    ``proposed`` maps landmarks that were proposed and that nobody confirmed to the error to reckon with, mm; one that
    is stated and not among them counts as confirmed. ``notes`` is what whoever wrote it should know of it.
    """

    source: str = ""
    base: BaseBrief = BaseBrief()
    units: UnitsBrief = UnitsBrief()
    roles: Mapping[Role, tuple[str, ...]] = field(default_factory=dict)
    landmarks: Mapping[str, tuple[float, float, float]] = field(default_factory=dict)
    proposed: Mapping[str, float] = field(default_factory=dict)
    motions: Mapping[str, MotionBrief] = field(default_factory=dict)
    limits: Limits = field(default_factory=Limits)
    materials: Mapping[str, Material] = field(default_factory=lambda: MATERIALS)
    views: Views = Views()
    performer: Performer = Performer()
    teeth: TeethBrief = TeethBrief()
    wear: WearBrief = WearBrief()
    edges: EdgesBrief = EdgesBrief()
    exceptions: tuple[WrittenException, ...] = ()
    notes: tuple[str, ...] = ()
    show: ShowBrief = ShowBrief()
    room: RoomBrief = RoomBrief()

    def __post_init__(self) -> None:
        """Freeze the mappings: what is frozen for good is read once for all the answers that rest on it."""
        freeze_mappings(self, "roles", "landmarks", "proposed", "motions", "materials")

    def over_landmarks(self, points_mm: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        """Return landmarks ``(3,)``, mm, world space, with those stated here in their place."""
        return {**points_mm, **{name: np.array(point) for name, point in self.landmarks.items()}}

    def over_proposed(self, errors_mm: Mapping[str, float]) -> dict[str, float]:
        """Return the errors of landmarks that nobody confirmed, mm: those stated here are, unless named here too."""
        unsettled = {name: error for name, error in errors_mm.items() if name not in self.landmarks}
        return {**unsettled, **self.proposed}

    def with_landmarks(self, snapshot: Snapshot) -> Snapshot:
        """Return the snapshot with landmarks and lines stated here over its own; landmarks may be confirmed too."""
        return replace(
            snapshot,
            landmarks=self.over_landmarks(snapshot.landmarks),
            proposed=self.over_proposed(snapshot.proposed),
            rims_mm={**snapshot.rims_mm, **{name: np.array(line) for name, line in self.room.rims.items()}},
        )
