"""What shapes or places a part beside itself: objects, collections and textures that it names in modifiers and such.

Followed as far as it goes: nodes name objects, objects stand where bones and curves put them. What another part is made
of is told with that part, so the way ends there.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

import bpy

from ...scene.posing import action_curves
from .animated_paths import animated_paths
from .placing import OWN, place_values
from .setting_values import named_by, owner_values, stack_values

SurfaceOf = Callable[[Any], str]


def beside_values(item: Any, counted: Mapping[int, str], surface_of: SurfaceOf) -> list[Any]:
    """Return what an object's shape and place depend on beside its own settings, as plain values.

    Parameters
    ----------
    counted
        Blender's numbers for the objects that are told for themselves, and their names.
    surface_of
        A hash of an object's own shape.
    """
    seen = {item.session_uid, *counted}
    return [motion_values(item), *_hung_on(item, seen, counted, surface_of), *_named(item, seen, counted, surface_of)]


def _hung_on(item: Any, seen: set[int], counted: Mapping[int, str], surface_of: SurfaceOf) -> Iterator[Any]:
    """Yield what places the chain of parents; its own transforms are told with the object's place."""
    parent = item.parent
    while parent is not None and parent.session_uid not in seen:
        seen.add(parent.session_uid)
        yield [motion_values(parent), bone_values(parent), *_named(parent, seen, counted, surface_of)]
        parent = parent.parent


def _named(item: Any, seen: set[int], counted: Mapping[int, str], surface_of: SurfaceOf) -> Iterator[Any]:
    """Yield what modifiers and constraints name, each once."""
    for named in named_by([*item.modifiers, *item.constraints, *_bone_constraints(item)]):
        for each in _members(named):
            if each.session_uid in seen:
                continue
            seen.add(each.session_uid)
            if isinstance(each, bpy.types.Object):
                yield _object(each, seen, counted, surface_of)
            elif isinstance(each, bpy.types.Texture):
                yield owner_values(each)


def _members(named: Any) -> Iterable[Any]:
    """Return the objects of a collection, else what is named itself."""
    if isinstance(named, bpy.types.Collection):
        return sorted(named.all_objects, key=lambda item: str(item.name))
    return (named,)


def _object(item: Any, seen: set[int], counted: Mapping[int, str], surface_of: SurfaceOf) -> list[Any]:
    return [
        surface_of(item),
        place_values(item, counted),
        stack_values("modifiers", item.modifiers, animated_paths(item)),
        bone_values(item),
        motion_values(item),
        *_hung_on(item, seen, counted, surface_of),
        *_named(item, seen, counted, surface_of),
    ]


def bone_values(item: Any) -> list[Any]:
    """Return how an armature is posed, as far as no animation sets it; empty for anything else."""
    if item.pose is None:
        return []
    animated = animated_paths(item)
    posed = []
    for bone in item.pose.bones:
        paths = {f"{bone.path_from_id()}.{name}" for name in OWN}
        if not animated & paths:
            posed.append([bone.name, [list(row) for row in bone.matrix_basis]])
    rest = [[bone.name, [list(row) for row in bone.matrix_local]] for bone in item.data.bones]
    return [item.data.pose_position, posed, rest, stack_values("", _bone_constraints(item), frozenset())]


def _bone_constraints(item: Any) -> list[Any]:
    return [each for bone in (item.pose.bones if item.pose is not None else ()) for each in bone.constraints]


def motion_values(owner: Any) -> list[Any]:
    """Return what animates an object: its curves and drivers themselves, whatever they come to at a frame."""
    data = getattr(owner, "animation_data", None)
    if data is None:
        return []
    return [[_curve(each) for each in action_curves(data)], [_driver(each) for each in data.drivers]]


def _curve(curve: Any) -> list[Any]:
    points = [0.0] * (2 * len(curve.keyframe_points))
    curve.keyframe_points.foreach_get("co", points)
    return [curve.data_path, curve.array_index, curve.mute, points]


def _driver(curve: Any) -> list[Any]:
    driver = curve.driver
    read = [
        [each.name, each.type, [[target.data_path, target.transform_type] for target in each.targets]]
        for each in driver.variables
    ]
    points = [list(point.co) for point in curve.keyframe_points]
    return [curve.data_path, curve.array_index, curve.mute, driver.type, driver.expression, read, points]
