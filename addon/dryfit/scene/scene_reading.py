"""The open scene as a snapshot, whatever it lacks."""

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import partial

from ..model.arrays import FloatArray
from ..model.brief import Brief, MotionBrief
from ..model.errors import InputError
from ..model.progress import Job, Progress, drain
from ..model.snapshot import Lock, Part, Role, Snapshot
from .blender import BlenderContext, BlenderObject, blender
from .cameras import camera_notes, placed_cameras
from .errors import NothingMoves
from .exceptions import stored_exceptions
from .landmarks import (
    drawn_rims,
    hidden_marks,
    landmark_errors,
    landmark_notes,
    rim_notes,
    rim_objects,
    seen_landmarks,
)
from .lending import Lent, cast_of
from .locking import stored_lock
from .motions import LINEAR_MM, Sampled, missing_keys, sampling, stored_motions
from .own_figures import stored_own_figures
from .proposing.motion_proposing import jaw_notes
from .roles import Played, other_scene_notes, own_teeth_notes, unmatched_roles
from .shown import InstancedPart, hidden_inside, render_notes, shown
from .staging import hiding_notes
from .units import unit_notes


@dataclass(frozen=True)
class SceneRead:
    """A snapshot of one scene, which keys that scene has, the motions that were asked of it, and why a rig has none."""

    snapshot: Snapshot
    keys: tuple[str, ...]
    motions: Mapping[str, MotionBrief]
    faults: Mapping[str, InputError] = field(default_factory=dict)

    def noting(self, *notes: str) -> "SceneRead":
        """Return the same with more to tell the user."""
        return replace(self, snapshot=replace(self.snapshot, notes=(*self.snapshot.notes, *notes)))


def read_scene(context: BlenderContext, brief: Brief, name: str, mm_per_unit: float) -> SceneRead:
    """Read the context's scene and leave it as it was; keys that it lacks are left out of the motions.

    Parameters
    ----------
    context
        ``bpy.context`` or the context of an operator.
    brief
        What overrides the scene's own roles, landmarks and motions.
    name
        The variant's name.
    mm_per_unit
        Millimetres in one Blender unit.

    Raises
    ------
    InputError
        When the scene cannot be read.
    """
    return drain(scene_in_turns(context, brief, name, mm_per_unit))


def scene_in_turns(
    context: BlenderContext,
    brief: Brief,
    name: str,
    mm_per_unit: float,
    *,
    turn_seconds: float = math.inf,
    moving: bool = True,
) -> Job[SceneRead]:
    """Read the scene as ``read_scene`` does, a step after each turn; between turns it is as the user left it.

    Parameters
    ----------
    context, brief, name, mm_per_unit
        As for ``read_scene``.
    turn_seconds
        How long a turn takes; infinite reads it in one.
    moving
        Whether its motions are read too, which takes most of the time.

    Raises
    ------
    ChangedMeanwhile
        When it is plain that it became another scene between two turns.
    InputError
        When the scene cannot be read.
    """
    lent = Lent(context, brief, mm_per_unit, turn_seconds)
    read = yield from lent.in_turns(_reading(lent, name, moving))
    cast = cast_of(context, brief)
    here = cast.motions
    still = [
        each.motion.name for each in read.sampled if here[each.motion.name].is_of_rig() and not each.motion.frames_mm
    ]
    sampled = [each for each in read.sampled if each.motion.name not in still]
    snapshot = replace(
        brief.with_landmarks(read.snapshot),
        motions={each.motion.name: each.motion for each in sampled},
        exceptions=stored_exceptions(context.scene),
        own=stored_own_figures(context.scene),
    )
    notes = (*scene_notes(context, cast.objects, cast.played, brief), *read.notes, *motion_notes(sampled))
    faults = {**cast.faults, **read.held, **{name: NothingMoves(name) for name in still}}
    return SceneRead(snapshot, cast.keys, cast.asked, faults).noting(*notes, *camera_notes(snapshot.cameras, brief))


def with_lost_motions(read: SceneRead) -> Snapshot:
    """Return the snapshot with the motions that were asked for and are nowhere to be had, and why."""
    faults = {name: fault for name, fault in read.faults.items() if name not in read.snapshot.motions}
    lost = {**faults, **missing_keys(read.motions, read.keys)}
    motions = {name: motion for name, motion in read.snapshot.motions.items() if name not in lost}
    words = {name: str(fault) for name, fault in lost.items()}
    return replace(read.snapshot, motions=motions, lost_motions=words)


@dataclass(frozen=True)
class _Read:
    """What was read in turns: what had to be overruled, and the motions that the rig holds back, stand beside it."""

    snapshot: Snapshot
    sampled: list[Sampled]
    notes: tuple[str, ...]
    held: dict[str, InputError]


def _reading(lent: Lent, name: str, moving: bool) -> Job[_Read]:
    """Read parts, marks, cameras and motions."""
    parts: list[Part] = []
    count = len(lent.cast.played)
    for place in range(count):
        posable, depsgraph = lent.at_rest()
        parts.append(posable.part_of(posable.played[place], depsgraph))
        yield Progress(place + 1, count, parts[-1].name)
    posable, depsgraph = lent.at_rest()
    cast, scale = lent.cast, lent.mm_per_unit
    beside = shown(cast.seen, cast.played, lent.brief, depsgraph, scale)
    posable.instanced.extend(beside.instanced)
    marks = seen_landmarks(cast.marks, depsgraph, scale)
    snapshot = Snapshot(
        name,
        parts=posable.visible(parts, depsgraph),
        unmeasured=beside.unmeasured,
        unmatched=unmatched_roles(cast.objects, lent.brief, beside.sources),
        landmarks={name: mark.point_mm for name, mark in marks.items()},
        proposed=landmark_errors({name: mark.object for name, mark in marks.items()}),
        lock=base_lock(cast.played, posable.instanced),
        cameras=placed_cameras(cast.cameras, depsgraph, scale),
        rims_mm=drawn_rims(rim_objects(cast.objects), depsgraph, scale),
    )
    hidden = (*hidden_inside(cast.objects, beside.sources, lent.brief), *hidden_marks(cast.objects, marks))
    unread = rim_notes(rim_objects(cast.objects), snapshot.rims_mm)
    read = _Read(snapshot, [], (*posable.notes, *hidden, *unread), {})
    for motion in tuple(posable.motions) if moving else ():
        held = lent.scene().held(motion)
        if held is not None:
            read.held[motion] = held
            continue
        read.sampled.append((yield from sampling(motion, partial(_posed, lent, motion))))
    return read


def _posed(lent: Lent, motion: str, t: float) -> Mapping[str, FloatArray]:
    """Return every part's vertices ``(n, 3)``, mm, at t of a motion, in whatever turn it is asked for."""
    return lent.scene().posed_at(motion)(t)


def base_lock(played: Iterable[Played], instanced: Iterable[InstancedPart] = ()) -> Lock | None:
    """Return the lock kept on the base, or on what is shown as the base, or None.

    Raises
    ------
    BadStoredValue
    """
    own = (each.object for each in played if each.role is Role.BASE)
    shown_so = (each.group.source for each in instanced if each.role is Role.BASE)
    return next((stored_lock(item) for item in (*own, *shown_so)), None)


def scene_notes(
    context: BlenderContext, objects: list[BlenderObject], played: tuple[Played, ...], brief: Brief
) -> Iterator[str]:
    """Tell what the user may not expect of how the scene was read."""
    yield from unit_notes(context.scene)
    yield from own_teeth_notes(objects, brief)
    yield from landmark_notes(objects)
    yield from hiding_notes(context, played)
    yield from render_notes(played)
    yield from other_scene_notes(context.scene, blender().data.scenes, brief)
    yield from jaw_notes(objects, {**stored_motions(context.scene), **brief.motions})


def motion_notes(sampled: Iterable[Sampled]) -> Iterator[str]:
    """Tell which motions move nothing, and which bend more than their key frames can follow."""
    for each in sampled:
        if not each.motion.frames_mm:
            yield f"The motion '{each.motion.name}' moves no object that has a role."
        if each.error_mm > LINEAR_MM:
            count = len(each.motion.frames_t)
            yield (
                f"The motion '{each.motion.name}' bends sharply: between its {count} key frames "
                f"vertices may be off by about {each.error_mm:.2g} mm."
            )
