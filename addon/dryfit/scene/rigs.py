"""Motions of a rig, posed and put back: bones that turn, properties that drivers read, the file's own animation."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field

from ..model.brief import MotionBrief
from ..model.errors import InputError
from .blender import BlenderContext, BlenderObject, Depsgraph
from .borrowing import Borrowed
from .controls import Control, control_of, curves_of
from .errors import ControlNotPosed
from .staging import StageScene

CLOSE_ENOUGH = 1e-3
"""A control that stands further than this from what it was set to, degrees or its own unit, is held by something."""


@dataclass(frozen=True)
class Rigs:
    """Everything that the motions pose of rigs.

    Attributes
    ----------
    controls
        Motion -> the bone or property that it sets.
    frames
        Motion -> the frames of the file's own animation at t = 0 and t = 1.
    """

    controls: Mapping[str, Control] = field(default_factory=dict)
    frames: Mapping[str, tuple[float, float]] = field(default_factory=dict)

    def pose(self, stage: StageScene, motion: str = "", t: float = 0.0) -> None:
        """Set every control and the frame for t of one motion; all others stand at their start."""
        for name, control in self.controls.items():
            control.store(between(control.ends, t if name == motion else 0.0))
            control.owner.update_tag()
        if self.frames:
            ends = self.frames.get(motion) or next(iter(self.frames.values()))
            frame = between(ends, t if motion in self.frames else 0.0)
            stage.scene.frame_set(math.floor(frame), subframe=frame - math.floor(frame))

    def require_posed(self, depsgraph: Depsgraph, motion: str = "", t: float = 0.0) -> None:
        """Raise where a control does not stand where it was set.

        Raises
        ------
        ControlNotPosed
        """
        for name, control in self.controls.items():
            wanted = between(control.ends, t if name == motion else 0.0)
            got = control.read(control.owner.evaluated_get(depsgraph))
            if abs(got - wanted) > CLOSE_ENOUGH:
                raise ControlNotPosed(name, control.words, wanted, got)

    def notes(self) -> Iterator[str]:
        """Tell which controls have a driver or animation that a motion goes over."""
        for control in self.controls.values():
            if any(not curve.mute for curve in curves_of(control)):
                yield f"{control.words} is animated or driven; the motion set it directly instead."


def between(ends: tuple[float, float], t: float) -> float:
    """Return the figure at t between those at t = 0 and t = 1."""
    return ends[0] + (ends[1] - ends[0]) * t


def rig_faults(motions: Mapping[str, MotionBrief], objects: Sequence[BlenderObject]) -> dict[str, InputError]:
    """Return the motions of rigs whose bone or property is not there, and what to say of each."""
    faults: dict[str, InputError] = {}
    for name, motion in motions.items():
        try:
            control_of(name, motion, objects)
        except InputError as error:
            faults[name] = error
    return faults


def rigs_of(motions: Mapping[str, MotionBrief], objects: Sequence[BlenderObject]) -> Rigs:
    """Return what motions pose of rigs.

    Raises
    ------
    NoSuchControl, NoNumber
        When a bone or property is not there, or cannot be set.
    """
    found = {name: control_of(name, motion, objects) for name, motion in motions.items()}
    return Rigs(
        {name: control for name, control in found.items() if control is not None},
        {name: motion.frames for name, motion in motions.items() if motion.frames is not None},
    )


@contextmanager
def rigs_to_pose(context: BlenderContext, rigs: Rigs) -> Iterator[None]:
    """Let every control be set; afterwards, and also on error, it is as it was.

    Values of animated controls are put back last: once their animation is live again, Blender would otherwise replace
    a value that the user has set and not keyed.
    """
    with Borrowed() as borrowed:
        for control in rigs.controls.values():
            borrowed.callback(_put_back, context, control, control.keeper())
        for control in rigs.controls.values():
            for curve in curves_of(control):
                borrowed.set(curve, "mute", True)
            if control.owner.type == "ARMATURE":
                borrowed.set(control.owner.data, "pose_position", "POSE")
        yield


def _put_back(context: BlenderContext, control: Control, put_back: Callable[[], None]) -> None:
    if curves_of(control):
        context.view_layer.update()
    put_back()
    control.owner.update_tag()
