"""What shapes or places a part beside itself: objects, collections and textures that it names in modifiers and such.

Followed as far as it goes: nodes name objects, objects stand where bones and curves put them. What another part is made
of is told with that part, so the way ends there.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import bpy

from .animated_paths import Posed, animated_paths
from .animation_values import motion_values
from .placing import own_transform, place_values
from .setting_values import named_by, owner_values, settings_of, stack_values


@dataclass(frozen=True)
class Known:
    """What is known of a scene while it is looked at.

    Attributes
    ----------
    counted
        Blender's numbers for the objects that are told for themselves, and their names.
    surface_of
        A hash of an object's own shape.
    posed
        What motions set.
    """

    counted: Mapping[int, str]
    surface_of: Callable[[Any], str]
    posed: Posed


BONE = (
    "use_deform", "use_inherit", "use_local", "use_relative", "use_cyclic", "inherit_scale", "head_radius",
    "tail_radius", "envelope_", "use_envelope", "bbone_", "ik_", "lock_ik", "use_ik",
)  # fmt: skip
"""How the names of a bone's settings begin that bend or place what hangs on it."""
SHAPED_BY = ("bevel_object", "taper_object", "follow_curve")
"""What shapes a curve or a text beside its own points."""
LOOKS = ("display_", "show_", "draw_", "name", "is_", "use_fake", "tag")
"""How the names of the settings of particles begin that change nothing of where and how large they are."""


def beside_values(item: Any, known: Known) -> list[Any]:
    """Return what an object's shape and place depend on beside its own settings, as plain values."""
    seen = {item.session_uid, *known.counted}
    around = (*_hung_on(item, seen, known), *_named(item, seen, known), *_particles(item))
    return [motion_values(item, known.posed), *around]


def _hung_on(item: Any, seen: set[int], known: Known) -> Iterator[Any]:
    """Yield what places the chain of parents; its own transforms are told with the object's place.

    Where an object hangs on corners of its parent, or is bent by it, that one's shape counts too.
    """
    parent, by_shape = item.parent, item.parent_type not in ("OBJECT", "BONE")
    while parent is not None and parent.session_uid not in seen:
        seen.add(parent.session_uid)
        shape = [known.surface_of(parent), *_stack(parent)] if by_shape else []
        yield [
            motion_values(parent, known.posed),
            bone_values(parent, known.posed),
            *shape,
            *_named(parent, seen, known),
        ]
        parent, by_shape = parent.parent, parent.parent_type not in ("OBJECT", "BONE")


def _stack(item: Any) -> list[Any]:
    return stack_values("modifiers", item.modifiers, animated_paths(item))


def _named(item: Any, seen: set[int], known: Known) -> Iterator[Any]:
    """Yield what modifiers and constraints name, and what a curve is shaped by, each once."""
    by_data = [each for name in SHAPED_BY if (each := getattr(item.data, name, None)) is not None]
    for named in [*named_by([*item.modifiers, *item.constraints, *_bone_constraints(item)]), *by_data]:
        for each in _members(named):
            if each.session_uid in seen:
                continue
            seen.add(each.session_uid)
            if isinstance(each, bpy.types.Object):
                yield _object(each, seen, known)
            elif isinstance(each, bpy.types.Texture):
                yield owner_values(each)


def _particles(item: Any) -> Iterator[Any]:
    """Yield what particles are made by; what they show is told where it is seen."""
    for system in getattr(item, "particle_systems", ()):
        told = settings_of(system.settings, ("",))
        yield [system.seed, {name: value for name, value in told.items() if not name.startswith(LOOKS)}]


def _members(named: Any) -> Iterable[Any]:
    """Return the objects of a collection, else what is named itself."""
    if isinstance(named, bpy.types.Collection):
        return sorted(named.all_objects, key=lambda item: str(item.name))
    return (named,)


def _object(item: Any, seen: set[int], known: Known) -> list[Any]:
    return [
        known.surface_of(item),
        place_values(item, known.counted),
        _stack(item),
        bone_values(item, known.posed),
        motion_values(item, known.posed),
        *_hung_on(item, seen, known),
        *_named(item, seen, known),
    ]


def bone_values(item: Any, posed: Posed) -> list[Any]:
    """Return how an armature is posed, as far as no animation or motion sets it; empty for anything else."""
    if item.pose is None:
        return []
    moved = posed.set_by_others(item)
    bones = [
        [bone.name, own_transform(bone, f"{bone.path_from_id()}.", moved), settings_of(bone, BONE)]
        for bone in item.pose.bones
    ]
    rest = [[bone.name, [list(row) for row in bone.matrix_local], settings_of(bone, BONE)] for bone in item.data.bones]
    return [item.data.pose_position, bones, rest, stack_values("", _bone_constraints(item), frozenset())]


def _bone_constraints(item: Any) -> list[Any]:
    return [each for bone in (item.pose.bones if item.pose is not None else ()) for each in bone.constraints]
