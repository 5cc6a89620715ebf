"""Motions that a scene seems to have, by the names in it; none is taken before somebody says so."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ...model.arrays import FloatArray
from ...model.brief import BoneBrief, HingeBrief, MotionBrief, PropertyBrief
from ...performer.motion.base_motion import JAW
from ..blender import BlenderData, BlenderObject
from ..controls import AXES
from ..instances import with_instanced
from ..meshes import world_matrix
from ..posing import action_curves, key_names, shape_keys_of
from .motion_names import BLINK, has_side, inner_words, is_jaw_bone, motion_said

UP, ACROSS = np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0])
PLAIN = 0.5
"""A bone's axis lies across the face, and its turn lowers the chin, when their share of the way is larger than this."""


@dataclass(frozen=True)
class ProposedMotion:
    """What could make a motion, found by its name; ``said`` is the name that says so, ``kind`` what bears it."""

    motion: str
    kind: str
    said: str
    brief: MotionBrief


def proposed_motions(
    objects: Iterable[BlenderObject], stated: Iterable[str] = (), across: FloatArray = ACROSS
) -> tuple[ProposedMotion, ...]:
    """Return what could make motions that nobody stated: at most one key, bone, property and action for each.

    Parameters
    ----------
    objects
        The scene's; those of the collections that they instance count too.
    stated
        Names of motions that need none.
    across
        From the performer's right to the left ``(3,)``, world space: what a jaw turns about.
    """
    found, known = with_instanced(objects), {*stated}
    every = (*_by_keys(found), *_by_bones(found, across), *_by_properties(found), *_by_actions(found))
    first: dict[tuple[str, str], ProposedMotion] = {}
    for each in every:
        if each.motion not in known:
            first.setdefault((each.motion, each.kind), each)
    return tuple(sorted(first.values(), key=lambda each: (each.motion != JAW, each.motion != BLINK, each.motion)))


def jaw_notes(objects: Iterable[BlenderObject], stated: Iterable[str]) -> Iterator[str]:
    """Tell of a jaw that names in the scene speak of and nobody stated: it is measured without it."""
    for each in proposed_motions(objects, stated):
        if each.motion == JAW:
            yield (
                f"No motion '{JAW}' is stated, and the {each.kind} '{each.said}' is named like one; "
                f"state it under [motions.{JAW}] to have it measured."
            )


def _by_keys(objects: Sequence[BlenderObject]) -> Iterator[ProposedMotion]:
    """Yield a motion of the shape keys that say it; a left and a right one make it together."""
    saying: dict[str, list[str]] = {}
    for name in key_names(objects):
        if motion := motion_said(name):
            saying.setdefault(motion, []).append(name)
    for motion, names in saying.items():
        whole = [name for name in names if not has_side(name)]
        chosen = whole[:1] or names
        yield ProposedMotion(motion, "key", ", ".join(chosen), MotionBrief(keys=dict.fromkeys(chosen, (0.0, 1.0))))


def _by_bones(objects: Sequence[BlenderObject], across: FloatArray) -> Iterator[ProposedMotion]:
    """Yield the jaw's bones, those that set others first."""
    bones = [(item, bone) for item in objects if item.type == "ARMATURE" for bone in item.pose.bones]
    jaws = [(item, bone) for item, bone in bones if is_jaw_bone(bone.name)]
    for item, bone in sorted(jaws, key=lambda each: (inner_words(each[1].name), -len(each[1].name), each[1].name)):
        turn = _opening(item, bone, across)
        if turn is not None:
            brief = MotionBrief(bone=BoneBrief(item.name, bone.name, turn[1], turn[0]))
            yield ProposedMotion(JAW, "bone", bone.name, brief)


def _opening(item: BlenderObject, bone: BlenderData, across: FloatArray) -> tuple[str, tuple[float, float]] | None:
    """Return the axis of a bone that lies across the face, and the turn about it that lowers the chin; None: no such.

    The turn is the hinge's own: how far a mouth opens where nobody says more.
    """
    axes = (world_matrix(item)[:3, :3] @ np.array(bone.bone.matrix_local, dtype=np.float64)[:3, :3]).T
    axes = axes / np.maximum(np.linalg.norm(axes, axis=1, keepdims=True), np.finfo(float).tiny)
    place = int(np.argmax(np.abs(axes @ across)))
    lowers = float(-np.cross(axes[place], axes[1]) @ UP)
    if abs(float(axes[place] @ across)) < PLAIN or abs(lowers) < PLAIN or bone.lock_rotation[place]:
        return None
    return AXES[place], (0.0, math.copysign(HingeBrief().open_deg, lowers))


def _by_properties(objects: Sequence[BlenderObject]) -> Iterator[ProposedMotion]:
    """Yield custom properties that stand between two figures."""
    for item in objects:
        for holder in (item, item.data, *(item.pose.bones if item.type == "ARMATURE" else ())):
            for name, value in holder.items() if holder is not None else ():
                motion = motion_said(name)
                if motion and isinstance(value, float):
                    brief = MotionBrief(property=PropertyBrief(item.name, name, _ends(holder, name)))
                    yield ProposedMotion(motion, "property", name, brief)


def _ends(holder: BlenderData, name: str) -> tuple[float, float]:
    """Return a property's rest and the far end of its slider; 0 and 1 where the slider says nothing."""
    shown = holder.id_properties_ui(name).as_dict()
    low, high = float(shown.get("soft_min", 0.0)), float(shown.get("soft_max", 1.0))
    rest = float(shown.get("default", 0.0))
    if not -1e3 < low < high < 1e3 or not low <= rest <= high:
        return 0.0, 1.0
    return (rest, high) if high > rest else (rest, low)


def _by_actions(objects: Sequence[BlenderObject]) -> Iterator[ProposedMotion]:
    """Yield the actions that play in the scene; one that is only kept in the file moves nothing in any frame."""
    for item in objects:
        for holder in (item, item.data, shape_keys_of(item)):
            data = getattr(holder, "animation_data", None)
            action = data.action if data is not None else None
            if action is None or not (motion := motion_said(action.name)):
                continue
            frames = _furthest(action_curves(data))
            if frames is not None:
                yield ProposedMotion(motion, "action", action.name, MotionBrief(frames=frames))


def _furthest(curves: Sequence[BlenderData]) -> tuple[float, float] | None:
    """Return the first keyed frame and the one at which all together stand furthest from it; None: nothing changes.

    An action that opens and closes again ends as it begins.
    """
    frames = sorted({float(point.co[0]) for curve in curves if not curve.mute for point in curve.keyframe_points})
    if not frames:
        return None
    start = np.array([curve.evaluate(frames[0]) for curve in curves])
    far = [float(np.abs(np.array([curve.evaluate(frame) for curve in curves]) - start).sum()) for frame in frames]
    furthest = int(np.argmax(far))
    return (frames[0], frames[furthest]) if far[furthest] > 0.0 else None
