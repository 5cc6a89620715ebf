"""Pose shape keys by value, and put back everything that was touched.

A key named by a motion is set on every object that has it. Its own animation and driver are muted meanwhile,
its slider is widened, a mute is lifted, and a pinned key is unpinned. A driver that reads another key of the
same motions stays live: such a key follows.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass

from ..model.brief import MotionBrief
from .blender import (
    AnimationCurve,
    AnimationData,
    BlenderContext,
    BlenderID,
    BlenderObject,
    Depsgraph,
    KeyBlock,
    ShapeKeys,
)
from .borrowing import Borrowed
from .errors import AbsoluteKeys, KeyNotPosed

SLIDER_REACH = 10.0
"""Blender's own bound of a shape key's slider."""
CLOSE_ENOUGH = 1e-5
READS_KEY = re.compile(r'key_blocks\["(?P<name>(?:[^"\\]|\\.)*)"\]\.value$')


@dataclass(frozen=True)
class Posable:
    """One shape key of one mesh.

    Attributes
    ----------
    owner
        Name of an object that has it.
    keys
        The shape keys it belongs to.
    block
        The key itself.
    follows
        True when its driver reads another posed key, so that it is not set.
    """

    owner: str
    keys: ShapeKeys
    block: KeyBlock
    follows: bool

    @property
    def name(self) -> str:
        """The key's name."""
        return str(self.block.name)


def shape_keys_of(item: BlenderObject) -> ShapeKeys | None:
    """Return the object's shape keys, or None."""
    return getattr(item.data, "shape_keys", None)


def key_names(objects: Iterable[BlenderObject]) -> list[str]:
    """Return the name of every shape key that is not a basis, sorted."""
    found = {
        block.name
        for item in objects
        if (keys := shape_keys_of(item)) is not None
        for block in keys.key_blocks
        if block != keys.reference_key
    }
    return sorted(found)


def posables(objects: Iterable[BlenderObject], names: Iterable[str]) -> tuple[Posable, ...]:
    """Return every shape key with one of the names, once a mesh however many objects share it."""
    wanted, owners = set(names), list(objects)
    return tuple(
        Posable(_owner_of(keys, owners), keys, block, _follows(keys, block.name, wanted))
        for keys in distinct_keys(owners)
        for block in keys.key_blocks
        if block.name in wanted and block != keys.reference_key
    )


def _owner_of(keys: ShapeKeys, objects: Iterable[BlenderObject]) -> str:
    return str(next(item.name for item in objects if shape_keys_of(item) == keys))


def require_relative(posable: Iterable[Posable], motions: Mapping[str, MotionBrief]) -> None:
    """Raise when a named key cannot be set by value.

    Raises
    ------
    AbsoluteKeys
    """
    for each in posable:
        if not each.keys.use_relative:
            raise AbsoluteKeys(each.owner, motion_of(each.name, motions), each.name)


def motion_of(key: str, motions: Mapping[str, MotionBrief]) -> str:
    """Return the first motion that names the key, or ``""``."""
    return next((name for name, motion in motions.items() if key in motion.keys), "")


@contextmanager
def posable_again(
    context: BlenderContext, objects: Iterable[BlenderObject], posable: Iterable[Posable], animated: bool = False
) -> Iterator[None]:
    """Clear the way for setting keys by value; afterwards all is as it was.

    Keys that no motion names stand as they are, also animated ones, unless ``animated``: then they follow the frame.

    The values of animated keys are put back last: once their animation is live again, Blender would
    otherwise replace a value that the user has set and not keyed.
    """
    objects = list(objects)
    all_keys = distinct_keys(objects)
    values = [(block, block.value) for keys in all_keys for block in keys.key_blocks]
    with Borrowed() as borrowed:
        curves = [curve for keys in all_keys for curve in action_curves(keys.animation_data)]
        if curves:
            borrowed.callback(_put_back, context, values)
        if animated:
            paths = {(each.keys.as_pointer(), value_path(each.name)) for each in posable}
            curves = [curve for curve in curves if (curve.id_data.as_pointer(), curve.data_path) in paths]
        for curve in curves:
            borrowed.set(curve, "mute", True)
        for item in objects:
            if shape_keys_of(item) is not None:
                borrowed.set(item, "show_only_shape_key", False)
        for each in posable:
            _free(each, borrowed)
        yield


def distinct_keys(objects: Iterable[BlenderObject]) -> list[ShapeKeys]:
    """Return the objects' shape keys, once each however many objects share them."""
    found = {keys.as_pointer(): keys for item in objects if (keys := shape_keys_of(item)) is not None}
    return list(found.values())


def _put_back(context: BlenderContext, values: Iterable[tuple[KeyBlock, float]]) -> None:
    context.view_layer.update()
    for block, value in values:
        if block.value != value:
            block.value = value


def _free(each: Posable, borrowed: Borrowed) -> None:
    block = each.block
    borrowed.set(block, "mute", False)
    borrowed.set(block, "slider_min", -SLIDER_REACH)
    borrowed.set(block, "slider_max", SLIDER_REACH)
    if not each.follows:
        for curve in _drivers_of(each.keys, each.name):
            borrowed.set(curve, "mute", True)
        borrowed.callback(setattr, block, "value", block.value)


def set_keys(posable: Iterable[Posable], values: Mapping[str, float]) -> None:
    """Set every key to its value; keys that follow are left to their drivers."""
    for each in posable:
        if not each.follows:
            each.block.value = values[each.name]


def require_posed(
    posable: Iterable[Posable],
    values: Mapping[str, float],
    depsgraph: Depsgraph,
    motions: Mapping[str, MotionBrief],
) -> None:
    """Raise when a key did not take its value.

    Raises
    ------
    KeyNotPosed
    """
    for each in posable:
        if each.follows:
            continue
        got = each.keys.evaluated_get(depsgraph).key_blocks[each.name].value
        if abs(got - values[each.name]) > CLOSE_ENOUGH:
            raise KeyNotPosed(each.owner, motion_of(each.name, motions), each.name, values[each.name], got)


def posing_notes(objects: Iterable[BlenderObject], posable: Iterable[Posable]) -> Iterator[str]:
    """Tell what has to be overruled to set the keys: drivers, animation, a pinned key."""
    for each in posable:
        if not each.follows and any(not curve.mute for curve in _drivers_of(each.keys, each.name)):
            yield f"'{each.name}' of '{each.owner}' has a driver; the motion set it directly instead."
    for item in objects:
        if shape_keys_of(item) is not None and item.show_only_shape_key:
            yield f"'{item.name}' shows one pinned shape key alone; it was measured with all of them."


def _drivers_of(keys: ShapeKeys, name: str) -> list[AnimationCurve]:
    data = keys.animation_data
    return [curve for curve in data.drivers if curve.data_path == value_path(name)] if data else []


def action_curves(data: AnimationData | None) -> list[AnimationCurve]:
    """Return the curves of the action that animation data, or a strip, uses of it."""
    if data is None or data.action is None:
        return []
    if not hasattr(data, "action_slot"):
        return list(data.action.fcurves)
    if data.action_slot is None:
        return []
    strips = [strip for layer in data.action.layers for strip in layer.strips]
    bags = [strip.channelbag(data.action_slot) for strip in strips]
    return [curve for bag in bags if bag is not None for curve in bag.fcurves]


def _follows(keys: ShapeKeys, name: str, posed: set[str]) -> bool:
    return any(
        _reads_posed(target.data_path, target.id, keys, name, posed)
        for curve in _drivers_of(keys, name)
        if not curve.mute
        for variable in curve.driver.variables
        for target in variable.targets
    )


def _reads_posed(path: str, source: BlenderID, keys: ShapeKeys, name: str, posed: set[str]) -> bool:
    read = READS_KEY.search(path)
    return read is not None and read["name"] in posed and not (source == keys and read["name"] == name)


def value_path(name: str) -> str:
    """Return the path of a key's value, as drivers and animation name it."""
    escaped = name.replace("\\", "\\\\").replace('"', '\\"')
    return f'key_blocks["{escaped}"].value'
