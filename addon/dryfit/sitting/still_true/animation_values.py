"""What animates an object: its curves, strips and drivers themselves, and what the drivers read; not the frame."""

from collections.abc import Iterator
from typing import Any

import bpy

from ...scene.posing import action_curves, value_path
from .animated_paths import Posed
from .placing import own_transform
from .setting_values import owner_values


def motion_values(item: Any, posed: Posed) -> list[Any]:
    """Return what animates an object, and what drives its data and its shape keys, whatever a frame makes of it."""
    own, data = getattr(item, "animation_data", None), item.data
    curves = [_curve(each) for each in action_curves(own)]
    tracks = [_track(each) for each in own.nla_tracks] if own is not None else []
    drivers = [each for owner in (item, data, getattr(data, "shape_keys", None)) for each in _drivers(owner, posed)]
    return [curves, drivers, tracks] if curves or drivers or tracks else []


def _drivers(owner: Any, posed: Posed) -> Iterator[Any]:
    """Yield the drivers of what no motion sets: a motion goes over the others."""
    over = {value_path(name) for name in posed.keys} if isinstance(owner, bpy.types.Key) else set()
    data = getattr(owner, "animation_data", None)
    yield from (
        _driver(each, posed) for each in (data.drivers if data is not None else ()) if each.data_path not in over
    )


def _curve(curve: Any) -> list[Any]:
    points = [0.0] * (2 * len(curve.keyframe_points))
    curve.keyframe_points.foreach_get("co", points)
    between = [
        [each.interpolation, *each.handle_left, *each.handle_right]
        if each.interpolation == "BEZIER"
        else [each.interpolation, each.easing, each.amplitude, each.back, each.period]
        for each in curve.keyframe_points
    ]
    changed = [owner_values(each) for each in curve.modifiers]
    return [curve.data_path, curve.array_index, curve.mute, points, between, curve.extrapolation, changed]


def _track(track: Any) -> list[Any]:
    strips = [
        [
            strip.frame_start, strip.frame_end, strip.action_frame_start, strip.action_frame_end, strip.scale,
            strip.repeat, strip.blend_type, strip.extrapolation, strip.influence, strip.use_reverse, strip.mute,
            [_curve(each) for each in action_curves(strip)],
        ]
        for strip in track.strips
    ]  # fmt: skip
    return [track.mute, track.is_solo, strips]


def _driver(curve: Any, posed: Posed) -> list[Any]:
    driver = curve.driver
    read = [
        [each.name, each.type, [[target.data_path, target.transform_type, *_read(each, target, posed)]
                                for target in each.targets]]
        for each in driver.variables
    ]  # fmt: skip
    points = [list(point.co) for point in curve.keyframe_points]
    muted = [curve.data_path, curve.array_index, curve.mute]
    return [*muted, driver.type, driver.expression, read, points, [owner_values(each) for each in curve.modifiers]]


def _read(variable: Any, target: Any, posed: Posed) -> Iterator[Any]:
    """Yield what a driver reads there now, a controller that a hand moved, as far as no animation or motion sets it."""
    source = target.id
    if source is None:
        return
    yield source.name_full
    if variable.type == "SINGLE_PROP":
        yield _value(source, target.data_path, posed)
    elif isinstance(source, bpy.types.Object):
        bones = source.pose.bones if source.pose is not None else {}
        bone = bones.get(target.bone_target)
        path = f"{bone.path_from_id()}." if bone is not None else ""
        yield own_transform(bone if bone is not None else source, path, posed.set_by_others(source))


def _value(source: Any, path: str, posed: Posed) -> Any:
    """Return a property's value, ``None`` where animation, a driver or a motion sets it or there is none."""
    if any(each == path or path.startswith(f"{each}[") for each, _ in posed.set_by_others(source)):
        return None
    try:
        value = source.path_resolve(path)
    except ValueError:
        return None
    return list(value) if hasattr(value, "__len__") and not isinstance(value, str) else repr(value)
