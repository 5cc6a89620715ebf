"""Which properties animation, drivers and motions set: their value belongs to a frame and a pose, not to the design."""

from collections.abc import Iterable, Iterator, Mapping, Set
from dataclasses import dataclass, field
from typing import Any

import bpy

from ...model.brief import MotionBrief
from ...model.errors import InputError
from ...scene.controls import TURNS, control_of
from ...scene.posing import action_curves, value_path

Component = tuple[str, int]
"""The path of a property and the place of one of its numbers."""


@dataclass(frozen=True)
class Posed:
    """What motions set.

    Attributes
    ----------
    keys
        Names of shape keys.
    controls
        Blender's number for a rig's object or its data -> the numbers that motions set of it.
    """

    keys: Set[str] = frozenset()
    controls: Mapping[int, frozenset[Component]] = field(default_factory=dict)

    def set_by_others(self, owner: Any) -> frozenset[Component]:
        """Return the numbers of a data-block's properties that animation, drivers or motions set."""
        keys = {(value_path(name), 0) for name in self.keys} if isinstance(owner, bpy.types.Key) else frozenset()
        return animated_components(owner) | self.controls.get(owner.session_uid, frozenset()) | keys


def posed_by(motions: Mapping[str, MotionBrief], objects: Iterable[Any]) -> Posed:
    """Return what motions set; a bone or property that is not there is left out."""
    found: dict[int, frozenset[Component]] = {}
    here = list(objects)
    for name, motion in motions.items():
        try:
            control = control_of(name, motion, here)
        except InputError:
            continue
        for owner in (control.owner, control.owner.data) if control is not None else ():
            if owner is not None and control is not None:
                found[owner.session_uid] = found.get(owner.session_uid, frozenset()) | _numbers(control.path)
    return Posed({key for motion in motions.values() for key in motion.keys}, found)


def _numbers(path: str) -> frozenset[Component]:
    """Return the numbers below the path of a control: a bone's turn, however it is kept, or a property."""
    paths = [path, *(path.removesuffix("rotation") + turn for turn in TURNS if path.endswith(".rotation"))]
    return frozenset((each, place) for each in paths for place in range(4))


def animated_paths(owner: Any) -> frozenset[str]:
    """Return the paths of an object's or its shape keys' own properties that curves, strips or drivers set."""
    return frozenset(path for path, _ in animated_components(owner))


def animated_components(owner: Any) -> frozenset[Component]:
    """Return the numbers of an owner's properties that curves, strips or drivers set; the others are the user's own."""
    data = getattr(owner, "animation_data", None)
    return frozenset() if data is None else frozenset((curve.data_path, curve.array_index) for curve in _curves(data))


def _curves(data: Any) -> Iterator[Any]:
    yield from action_curves(data)
    yield from data.drivers
    for track in data.nla_tracks:
        for strip in track.strips:
            yield from action_curves(strip)
            yield from strip.fcurves
