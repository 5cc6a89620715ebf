"""The open scene as a snapshot, whatever it lacks."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from ..model.brief import Brief, MotionBrief
from ..model.snapshot import Lock, Role, Snapshot
from .blender import BlenderContext, BlenderObject
from .cameras import camera_notes, camera_objects, placed_cameras
from .exceptions import stored_exceptions
from .instances import with_instanced
from .landmarks import landmark_errors, landmark_notes, landmark_objects, landmark_points
from .locking import stored_lock
from .motions import LINEAR_MM, Sampled, keyed_motions, motions_here, sampled_motion
from .own_figures import stored_own_figures
from .posable_scene import posable_scene
from .posing import key_names
from .roles import Played, played_roles, role_notes
from .shown import seen_objects, shown
from .staging import hiding_notes
from .units import unit_notes


@dataclass(frozen=True)
class SceneRead:
    """A snapshot of one scene, which keys that scene has, and the motions that were asked of it."""

    snapshot: Snapshot
    keys: tuple[str, ...]
    motions: Mapping[str, MotionBrief]

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
    asked = keyed_motions(context.scene, brief)
    keys = tuple(key_names(with_instanced(objects)))
    marks, cameras = landmark_objects(objects), camera_objects(objects)
    seen = seen_objects(context.scene, context.view_layer, brief)
    staged = (*marks.values(), *cameras, *seen)
    with posable_scene(context, played, staged, motions_here(asked, keys), mm_per_unit) as posable:
        beside = shown(seen, played, brief, posable.pose(posable.rest), mm_per_unit)
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
    snapshot = replace(
        brief.with_landmarks(snapshot),
        motions={each.motion.name: each.motion for each in sampled},
        lock=base_lock(played),
        exceptions=stored_exceptions(context.scene),
        own=stored_own_figures(context.scene),
    )
    notes = (*scene_notes(context, objects, played, brief), *posable.notes, *motion_notes(sampled))
    return SceneRead(snapshot, keys, asked).noting(*notes, *camera_notes(snapshot.cameras, brief))


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
