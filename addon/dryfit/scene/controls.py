"""What a motion sets on a rig: a bone's turn about one of its axes, or a custom property that drivers read."""

import difflib
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from ..model.brief import BoneBrief, MotionBrief, PropertyBrief
from .blender import AnimationCurve, BlenderData, BlenderObject
from .errors import NoNumber, NoSuchControl
from .posing import action_curves

AXES = "XYZ"
TURNS = ("rotation_euler", "rotation_quaternion", "rotation_axis_angle")


class Control(Protocol):
    """One thing of a rig that can be set by a figure."""

    @property
    def owner(self) -> BlenderObject:
        """The object that is evaluated anew when it was set."""

    @property
    def words(self) -> str:
        """What it is."""

    @property
    def ends(self) -> tuple[float, float]:
        """Its figures at t = 0 and t = 1."""

    @property
    def path(self) -> str:
        """How its path begins, as animation and drivers of its owner name it."""

    def store(self, value: float) -> None:
        """Set it."""

    def read(self, owner: BlenderObject) -> float:
        """Return where it stands on its owner, as that is or evaluated."""

    def keeper(self) -> Callable[[], None]:
        """Return what puts it back as it is now, to the last bit."""


@dataclass(frozen=True)
class BoneTurn:
    """A bone's turn, degrees; its other angles stay where they are."""

    owner: BlenderObject
    brief: BoneBrief

    @property
    def words(self) -> str:
        """What it is."""
        return f"The bone '{self.brief.name}' of '{self.owner.name}'"

    @property
    def ends(self) -> tuple[float, float]:
        """Its figures at t = 0 and t = 1."""
        return self.brief.rotation_deg

    @property
    def path(self) -> str:
        """How its path begins."""
        return f"{self._bone(self.owner).path_from_id()}.rotation"

    def store(self, value: float) -> None:
        """Set it, in the bone's own mode of rotation."""
        bone, axis, angle = self._bone(self.owner), AXES.index(self.brief.axis), math.radians(value)
        if bone.rotation_mode == "QUATERNION":
            half = [math.sin(angle / 2.0) if place == axis else 0.0 for place in range(3)]
            bone.rotation_quaternion = (math.cos(angle / 2.0), *half)
        elif bone.rotation_mode == "AXIS_ANGLE":
            bone.rotation_axis_angle = (angle, *(float(place == axis) for place in range(3)))
        else:
            bone.rotation_euler[axis] = angle

    def read(self, owner: BlenderObject) -> float:
        """Return where it stands, degrees."""
        bone, axis = self._bone(owner), AXES.index(self.brief.axis)
        if bone.rotation_mode == "QUATERNION":
            turn = bone.rotation_quaternion
            return math.degrees(2.0 * math.atan2(turn[axis + 1], turn[0]))
        if bone.rotation_mode == "AXIS_ANGLE":
            return math.degrees(bone.rotation_axis_angle[0])
        return math.degrees(bone.rotation_euler[axis])

    def stands(self, owner: BlenderObject) -> Any:
        """Return how it stands against its parent once all that holds it has acted, as a quaternion."""
        bone = self._bone(owner)
        above = (
            {"parent_matrix": bone.parent.matrix, "parent_matrix_local": bone.parent.bone.matrix_local}
            if (bone.parent)
            else {}
        )
        local = bone.bone.convert_local_to_pose(bone.matrix, bone.bone.matrix_local, invert=True, **above)
        return local.to_quaternion()

    def constraints(self) -> list[str]:
        """Return the names of what may hold it."""
        return [each.name for each in self._bone(self.owner).constraints if not each.mute]

    def keeper(self) -> Callable[[], None]:
        """Return what puts it back."""
        bone = self._bone(self.owner)
        before = {name: tuple(getattr(bone, name)) for name in TURNS}

        def put_back() -> None:
            for name, value in before.items():
                setattr(self._bone(self.owner), name, value)

        return put_back

    def _bone(self, owner: BlenderObject) -> BlenderData:
        return owner.pose.bones[self.brief.name]


@dataclass(frozen=True)
class PropertyValue:
    """A custom property of an object, of its data, or of one of its bones (``bone``, else ``""``)."""

    owner: BlenderObject
    brief: PropertyBrief
    on_data: bool = False
    bone: str = ""

    @property
    def words(self) -> str:
        """What it is."""
        return f"The property '{self.brief.name}' of '{self.bone or self.owner.name}'"

    @property
    def ends(self) -> tuple[float, float]:
        """Its figures at t = 0 and t = 1."""
        return self.brief.values

    @property
    def path(self) -> str:
        """How its path begins."""
        escaped = self.brief.name.replace("\\", "\\\\").replace('"', '\\"')
        return f'{self._holder(self.owner).path_from_id() if self.bone else ""}["{escaped}"]'

    def store(self, value: float) -> None:
        """Set it."""
        self._holder(self.owner)[self.brief.name] = value

    def read(self, owner: BlenderObject) -> float:
        """Return where it stands."""
        return float(self._holder(owner)[self.brief.name])

    def keeper(self) -> Callable[[], None]:
        """Return what puts it back."""
        before = self._holder(self.owner)[self.brief.name]
        return lambda: self._holder(self.owner).__setitem__(self.brief.name, before)

    def _holder(self, owner: BlenderObject) -> Any:
        if self.bone:
            return owner.pose.bones[self.bone]
        return owner.data if self.on_data else owner


def control_of(name: str, motion: MotionBrief, objects: Sequence[BlenderObject]) -> Control | None:
    """Return what a motion of that name sets on a rig; None where it sets nothing.

    Raises
    ------
    NoSuchControl
        When its object, bone or property is not there, with what is.
    NoNumber
        When its property is no number that may stand between two others.
    """
    if motion.bone is not None:
        return _bone_turn(name, motion.bone, objects)
    return None if motion.property is None else _property_value(name, motion.property, objects)


def _bone_turn(motion: str, brief: BoneBrief, objects: Sequence[BlenderObject]) -> BoneTurn:
    armatures = {item.name: item for item in objects if item.type == "ARMATURE"}
    armature = armatures.get(brief.armature)
    if armature is None:
        raise NoSuchControl(motion, "armature", brief.armature, "the scene", *_known(brief.armature, armatures))
    bones = [bone.name for bone in armature.pose.bones]
    if brief.name not in bones:
        raise NoSuchControl(motion, "bone", brief.name, f"'{armature.name}'", *_known(brief.name, bones))
    return BoneTurn(armature, brief)


def _property_value(motion: str, brief: PropertyBrief, objects: Sequence[BlenderObject]) -> PropertyValue:
    owner = next((item for item in objects if item.name == brief.object), None)
    if owner is None:
        names = [item.name for item in objects]
        raise NoSuchControl(motion, "object", brief.object, "the scene", *_known(brief.object, names))
    found = _found_property(owner, brief)
    if found is None:
        holders = [owner, *_bones(owner)]
        have = {name for holder in holders for name, _ in holder.items() if not name.startswith(("_", "dryfit_"))}
        raise NoSuchControl(motion, "property", brief.name, f"'{owner.name}'", *_known(brief.name, have))
    if not isinstance(found._holder(owner)[brief.name], float):
        raise NoNumber(motion, found.words)
    return found


def _found_property(owner: BlenderObject, brief: PropertyBrief) -> PropertyValue | None:
    if brief.name in owner:
        return PropertyValue(owner, brief)
    if owner.data is not None and brief.name in owner.data:
        return PropertyValue(owner, brief, on_data=True)
    bone = next((bone.name for bone in _bones(owner) if brief.name in bone), "")
    return PropertyValue(owner, brief, bone=bone) if bone else None


def _bones(owner: BlenderObject) -> Iterable[BlenderData]:
    return owner.pose.bones if owner.type == "ARMATURE" else ()


def _known(wanted: str, names: Iterable[str]) -> tuple[list[str], str]:
    """Return what there is, sorted, and the nearest of it to a name."""
    have = sorted(names)
    nearest = difflib.get_close_matches(wanted, have, 1, cutoff=0.5)
    return have, nearest[0] if nearest else ""


def curves_of(control: Control) -> list[AnimationCurve]:
    """Return the curves of animation and drivers that would set a control."""
    found = []
    for holder in (control.owner, control.owner.data):
        data = getattr(holder, "animation_data", None)
        found += [*action_curves(data), *data.drivers] if data is not None else []
    return [curve for curve in found if curve.data_path.startswith(control.path)]
