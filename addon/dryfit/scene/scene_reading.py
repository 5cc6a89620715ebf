"""The open scene as a snapshot, whatever it lacks."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from ..model.brief import Brief, MotionBrief
from ..model.errors import InputError
from ..model.snapshot import Lock, Role, Snapshot
from .blender import BlenderContext, BlenderObject
from .cameras import camera_notes, camera_objects, placed_cameras
from .errors import NothingMoves
from .exceptions import stored_exceptions
from .instances import with_instanced
from .landmarks import landmark_errors, landmark_notes, landmark_objects, landmark_points
from .locking import stored_lock
from .motions import LINEAR_MM, Sampled, missing_keys, motions_here, posed_motions, sampled_motion
from .own_figures import stored_own_figures
from .posable_scene import posable_scene
from .posing import key_names
from .rigs import rig_faults
from .roles import Played, played_roles, role_notes
from .shown import seen_objects, shown
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
    objects = list(context.scene.objects)
    played = played_roles(objects, brief)
    asked, everything = posed_motions(context.scene, brief), with_instanced(objects)
    keys, faults = tuple(key_names(everything)), rig_faults(asked, everything)
    here = {name: motion for name, motion in motions_here(asked, keys).items() if name not in faults}
    marks, cameras = landmark_objects(objects), camera_objects(objects)
    seen = seen_objects(context.scene, context.view_layer, brief)
    staged = (*marks.values(), *cameras, *seen)
    with posable_scene(context, played, staged, here, mm_per_unit) as posable:
        beside = shown(seen, played, brief, posable.pose(), mm_per_unit)
        posable.instanced.extend(beside.instanced)
        snapshot = Snapshot(name, parts=posable.parts(), unmeasured=beside.unmeasured)
        depsgraph = posable.stage.evaluate()
        snapshot = replace(
            snapshot,
            landmarks=landmark_points(marks, depsgraph, mm_per_unit),
            proposed=landmark_errors(marks),
            cameras=placed_cameras(cameras, depsgraph, mm_per_unit),
        )
        sampled = [sampled_motion(motion, posable.posed_at(motion)) for motion in posable.motions]
    still = [each.motion.name for each in sampled if here[each.motion.name].is_of_rig() and not each.motion.frames_mm]
    sampled = [each for each in sampled if each.motion.name not in still]
    snapshot = replace(
        brief.with_landmarks(snapshot),
        motions={each.motion.name: each.motion for each in sampled},
        lock=base_lock(played),
        exceptions=stored_exceptions(context.scene),
        own=stored_own_figures(context.scene),
    )
    notes = (*scene_notes(context, objects, played, brief), *posable.notes, *motion_notes(sampled))
    faults |= {name: NothingMoves(name) for name in still}
    return SceneRead(snapshot, keys, asked, faults).noting(*notes, *camera_notes(snapshot.cameras, brief))


def with_lost_motions(read: SceneRead) -> Snapshot:
    """Return the snapshot with the motions that were asked for and are nowhere to be had, and why."""
    faults = {name: fault for name, fault in read.faults.items() if name not in read.snapshot.motions}
    lost = {**faults, **missing_keys(read.motions, read.keys)}
    motions = {name: motion for name, motion in read.snapshot.motions.items() if name not in lost}
    words = {name: str(fault) for name, fault in lost.items()}
    return replace(read.snapshot, motions=motions, lost_motions=words)


def base_lock(played: Iterable[Played]) -> Lock | None:
    """Return the lock kept on the base, or None.

    Raises
    ------
    BadStoredValue
    """
    return next((stored_lock(each.object) for each in played if each.role is Role.BASE), None)


def scene_notes(
    context: BlenderContext, objects: list[BlenderObject], played: tuple[Played, ...], brief: Brief
) -> Iterator[str]:
    """Tell what the user may not expect of how the scene was read."""
    yield from unit_notes(context.scene)
    yield from role_notes(objects, brief)
    yield from landmark_notes(objects)
    yield from hiding_notes(context, played)


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
