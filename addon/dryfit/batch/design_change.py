"""What of a worn design changed its shape between two revisions: how far, how much of it, and where."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from ..geometry import Surface
from ..geometry.level_patches import patches_under
from ..geometry.rigid import RigidMotion, fit_rigid
from ..geometry.surface_change import OneWay, SurfaceChange, surface_change
from ..model.arrays import FloatArray, IntArray
from ..model.progress import Job, Progress
from ..model.snapshot import Motion, Part, Role, Snapshot
from ..performer.fitting import Fitting

GROUPS: Mapping[str, tuple[Role, ...]] = MappingProxyType(
    {
        "appliances": (Role.APPLIANCE,),
        "teeth": (Role.UPPER_TEETH, Role.LOWER_TEETH),
        "hardware": (Role.HARDWARE,),
        "base": (Role.BASE,),
    }
)
"""What is held against what: a design may be cut into other pieces and still be the same skin."""
STIFF_MM = 0.01
"""Parts whose every vertex fits one rigid motion within this moved as a whole: rounding to 32 bits is far smaller."""
MOVED_MM = 0.001
LEAST_AREA_MM2 = 1.0
"""Smaller places are left out of the list, unless they hold the largest change (common practice, no source)."""
MOST_PLACES = 12
SHOWN_SHARE = 0.5
"""A change of the older skin is told by itself where the newer one shows less than this share of it."""


@dataclass(frozen=True)
class Gathered:
    """The worn skins of one group of parts as one surface.

    Attributes
    ----------
    parts
        The parts, in their stored order.
    starts
        First vertex of each part, ``(p + 1,)``.
    surface
        Their skins, facing outward.
    """

    parts: tuple[Part, ...]
    starts: IntArray
    surface: Surface

    def part_of(self, vertex: int) -> Part:
        """Return the part that a vertex belongs to."""
        return self.parts[int(np.searchsorted(self.starts, vertex, side="right")) - 1]

    def own(self, values: FloatArray) -> Iterator[tuple[Part, FloatArray]]:
        """Yield each part with its own share of values given at all vertices ``(n,)``."""
        for place, part in enumerate(self.parts):
            yield part, values[self.starts[place] : self.starts[place + 1]]


@dataclass(frozen=True)
class ChangedPlace:
    """One place that changed.

    Attributes
    ----------
    group, part, region
        Where.
    at_mm
        Where the change is largest, ``(3,)``, world space.
    change_mm
        Positive where the newer design stands further out, negative where it lies deeper: the larger of what is
        measured from the newer skin to the older and back.
    area_mm2
        How much changed by more than the allowance there.
    gone
        Whether it is a place of the older design that the newer one has left.
    """

    group: str
    part: str
    region: str
    at_mm: tuple[float, float, float]
    change_mm: float
    area_mm2: float
    gone: bool


@dataclass(frozen=True)
class Shift:
    """A part that moved as a whole and kept its shape: how far its middle went, and by what angle it turned."""

    part: str
    distance_mm: float
    turn_deg: float


@dataclass(frozen=True)
class GroupChange:
    """One group of parts, older against newer."""

    name: str
    older: Gathered
    newer: Gathered
    change: SurfaceChange


@dataclass(frozen=True)
class DesignChange:
    """Everything whose shape or place changed.

    Attributes
    ----------
    groups
        The groups that both revisions have.
    places
        Where they differ by more than the allowance, the largest first.
    shifts
        Parts that moved as a whole.
    added, lost
        Names of parts of groups that only the newer, or only the older, revision has.
    laid
        The motion that laid the newer base on the older one; None where they lay on each other already.
    within_mm
        The allowance.
    """

    groups: tuple[GroupChange, ...]
    places: tuple[ChangedPlace, ...]
    shifts: tuple[Shift, ...]
    added: tuple[str, ...]
    lost: tuple[str, ...]
    laid: RigidMotion | None
    within_mm: float

    @property
    def max_mm(self) -> float:
        """The largest distance between the two designs."""
        return max((group.change.max_mm for group in self.groups), default=0.0)

    @property
    def same(self) -> bool:
        """Whether nothing was added or lost and nothing changed by more than the allowance."""
        return not self.added and not self.lost and self.max_mm <= self.within_mm


def laid_on(base: Part, snapshot: Snapshot) -> tuple[Snapshot, RigidMotion | None]:
    """Return the snapshot moved so that its base lies on another, where one rigid motion does that.

    Parameters
    ----------
    base
        Where the base is wanted.
    snapshot
        The design; moving a whole scene changes no design.

    Returns
    -------
    tuple of Snapshot and RigidMotion or None
        None where nothing had to be moved, or where the bases differ in shape.
    """
    own = snapshot.base
    if not _same_faces(base, own) or _same_place(base, own):
        return snapshot, None
    motion = _stiff_motion(own.vertices_mm, base.vertices_mm)
    return (snapshot, None) if motion is None else (_moved(snapshot, motion), motion)


def _same_faces(one: Part, other: Part) -> bool:
    return len(one.vertices_mm) == len(other.vertices_mm) and np.array_equal(one.faces, other.faces)


def _same_place(one: Part, other: Part) -> bool:
    return _same_faces(one, other) and bool(np.abs(one.vertices_mm - other.vertices_mm).max() <= MOVED_MM)


def _stiff_motion(before_mm: FloatArray, after_mm: FloatArray) -> RigidMotion | None:
    motion = fit_rigid(before_mm, after_mm)
    left_over = np.linalg.norm(motion.apply(before_mm) - after_mm, axis=1).max()
    return motion if left_over <= STIFF_MM else None


def _moved(snapshot: Snapshot, motion: RigidMotion) -> Snapshot:
    """Return the snapshot with everything that has a place moved; locks are left where they were taken."""
    parts = tuple(replace(part, vertices_mm=motion.apply(part.vertices_mm)) for part in snapshot.parts)
    motions = {name: _moved_motion(frames, motion) for name, frames in snapshot.motions.items()}
    landmarks = {name: motion.apply(point) for name, point in snapshot.landmarks.items()}
    return replace(snapshot, parts=parts, motions=motions, landmarks=landmarks)


def _moved_motion(frames: Motion, motion: RigidMotion) -> Motion:
    return replace(frames, frames_mm={name: motion.apply(posed) for name, posed in frames.frames_mm.items()})


def design_change(older: Fitting, newer: Fitting, within_mm: float) -> Job[DesignChange]:
    """Measure what changed in shape between two revisions on one base.

    Parameters
    ----------
    older, newer
        The two, already laid on each other.
    within_mm
        Changes up to this are allowed.

    Yields
    ------
    Progress
        After each group.

    Raises
    ------
    BadShape, NotFinite, NoSurface
        When a part makes no surface.
    """
    groups, added, lost = [], [], []
    for done, (name, roles) in enumerate(GROUPS.items()):
        yield Progress(done, len(GROUPS), f"holding the {name} against each other")
        if name == "base" and _same_place(older.base, newer.base):
            continue
        before, after = gathered(older, roles), gathered(newer, roles)
        if before and after:
            groups.append(GroupChange(name, before, after, _change(name, before, after, older)))
        else:
            added += [part.name for part in after.parts] if after else []
            lost += [part.name for part in before.parts] if before else []
    return DesignChange(
        groups=tuple(groups),
        places=tuple(_places(groups, older, within_mm)),
        shifts=tuple(_shifts(older.snapshot, newer.snapshot)),
        added=tuple(added),
        lost=tuple(lost),
        laid=None,
        within_mm=within_mm,
    )


def _change(name: str, before: Gathered, after: Gathered, older: Fitting) -> SurfaceChange:
    """Return the change of a group; beyond the edge of an appliance lies the bare base."""
    return surface_change(before.surface, after.surface, older.base_surface if name == "appliances" else None)


def gathered(fitting: Fitting, roles: Sequence[Role]) -> Gathered | None:
    """Return the skins of the parts with one of some roles as one surface; None where there is nothing."""
    parts = fitting.snapshot.with_role(*roles)
    if not parts:
        return None
    starts = np.concatenate([[0], np.cumsum([len(part.vertices_mm) for part in parts])])
    faces = [_skin_faces(part, fitting) + start for part, start in zip(parts, starts, strict=False)]
    vertices_mm = np.concatenate([part.vertices_mm for part in parts])
    return Gathered(parts, starts, Surface(vertices_mm, np.concatenate(faces)))


def _skin_faces(part: Part, fitting: Fitting) -> IntArray:
    """Return the faces of a part that are seen, turned outward.

    A sculpt that flows into the base is taken whole: where it lies on the base it still has a surface, which no
    rounding up or down of its distance to the base may make a hole in.
    """
    if part.role == Role.BASE:
        return fitting.base_surface.faces
    if part.role != Role.APPLIANCE:
        return fitting.surface(part).oriented_faces
    skin = fitting.skin(part)
    return skin.faces if skin.flows else skin.outer_faces


def _places(groups: Sequence[GroupChange], older: Fitting, within_mm: float) -> list[ChangedPlace]:
    """Return where groups differ, one place for each group, region and way, the largest change first."""
    found: dict[tuple[str, str, bool], list[ChangedPlace]] = {}
    for place in (place for group in groups for place in _group_places(group, older, within_mm)):
        found.setdefault((place.group, place.region, place.change_mm > 0), []).append(place)
    merged = sorted((_merged(places) for places in found.values()), key=lambda place: -abs(place.change_mm))
    return [place for rank, place in enumerate(merged) if not rank or place.area_mm2 >= LEAST_AREA_MM2][:MOST_PLACES]


def _merged(places: list[ChangedPlace]) -> ChangedPlace:
    """Return the largest change of one region with the area of all that lie on the same design as it."""
    largest = max(places, key=lambda place: abs(place.change_mm))
    return replace(largest, area_mm2=sum(place.area_mm2 for place in places if place.gone == largest.gone))


def _group_places(group: GroupChange, older: Fitting, within_mm: float) -> Iterator[ChangedPlace]:
    """Yield what the newer skin shows, and of the older one what the newer does not show by itself."""
    change = group.change
    for sign in (1.0, -1.0):
        shown = list(_side_places(group.name, group.newer, change.newer, sign, False, older, within_mm))
        for place in _side_places(group.name, group.older, change.older, sign, True, older, within_mm):
            if abs(_shown_mm(change.newer, place)) < SHOWN_SHARE * abs(place.change_mm) or not shown:
                yield place
            else:
                _take_larger(shown, place)
        yield from shown


def _take_larger(shown: list[ChangedPlace], place: ChangedPlace) -> None:
    """Let the nearest place of the newer skin state the larger of its own change and that of a place of the older one.

    Seen from the one skin a change may be smaller than from the other, at a fold or an edge: one change has one figure,
    and no figure over all is larger than that of every place.
    """
    near = min(range(len(shown)), key=lambda number: math.dist(shown[number].at_mm, place.at_mm))
    if abs(place.change_mm) > abs(shown[near].change_mm):
        shown[near] = replace(shown[near], change_mm=place.change_mm)


def _shown_mm(newer: OneWay, place: ChangedPlace) -> float:
    """Return the change that the newer skin shows where it is nearest to a place of the older one."""
    near = newer.surface.closest(np.array([place.at_mm]))
    return float(near.barycentric[0] @ newer.at_vertices_mm[newer.faces[near.face[0]]])


def _side_places(
    group: str, own: Gathered, side: OneWay, sign: float, gone: bool, older: Fitting, within_mm: float
) -> Iterator[ChangedPlace]:
    corners_mm, values_mm = side.surface.vertices_mm[side.faces], -sign * side.at_vertices_mm[side.faces]
    for patch in patches_under(corners_mm, values_mm, np.arange(len(side.faces)), side.faces, -within_mm):
        x, y, z = (float(value) for value in patch.lowest_mm)
        part = own.part_of(int(side.faces[patch.faces[0], 0])).name
        region = older.regions.name(patch.lowest_mm)
        yield ChangedPlace(group, part, region, (x, y, z), -sign * patch.lowest, patch.area_mm2, gone)


def _shifts(older: Snapshot, newer: Snapshot) -> Iterator[Shift]:
    """Yield the parts of both that moved as a whole; the base is laid on the other, not shifted."""
    for part in older.parts:
        twin = next((other for other in newer.parts if other.name == part.name), None)
        if part.role == Role.BASE or twin is None or not _same_faces(part, twin) or _same_place(part, twin):
            continue
        motion = _stiff_motion(part.vertices_mm, twin.vertices_mm)
        if motion is not None:
            distance_mm = float(np.linalg.norm(twin.vertices_mm.mean(axis=0) - part.vertices_mm.mean(axis=0)))
            yield Shift(part.name, distance_mm, motion.angle_deg)
