"""What a .blend could run or write while it is evaluated or rendered, taken out before any of that happens.

A file from a stranger is data. Texts that register themselves, drivers and handlers in Python stay still because the
file is opened with scripts disabled. What that does not hold back goes from the copy in memory, for every scene,
object and library of the file; the file on disk keeps it:

- fluid domains, which run generated Python and write their cache wherever the file says;
- simulation caches on disk that are not baked, which are written and deleted as frames go by: they are marked as
  baked, so that what is there is read and never touched;
- Freestyle's style modules, which are Python and run whether or not scripts are disabled (4.2 and 5.0);
- shader nodes and cameras that are programs (OSL), which are compiled to disk and run;
- file outputs of the compositor, node groups among them, and the sequencer, which writes and reads media;
- texture caches, which are written beside the pictures (5.2);
- paths to other machines (``other_machines``).

What rests on a property is taken out where a driver or an F-curve cannot put it back: the thing itself goes.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

from .blender import AnimationCurve, BlenderData, BlenderID, BlenderObject, BlenderScene, blender
from .other_machines import forget_other_machines

ON_CACHES = re.compile(r"\bpoint_caches?\b")
"""Paths of animation that lead to a simulation's cache."""
NODES = ("SCRIPT", "OUTPUT_FILE")
"""Kinds of nodes that run or write."""
CAMERA_PROGRAM = ("custom_shader", "custom_filepath", "custom_bytecode")
CAMERA_LOOK = ("lens", "sensor_fit", "sensor_width", "sensor_height", "shift_x", "shift_y", "clip_start", "clip_end")


@dataclass(frozen=True)
class Disarmed:
    """What was taken out and matters: ``simulations`` to what is measured, ``cameras``, full names, to a render.

    ``elsewhere``: files on other machines, which may matter to both.
    """

    simulations: tuple[str, ...] = ()
    cameras: tuple[str, ...] = ()
    elsewhere: tuple[str, ...] = ()

    @property
    def notes(self) -> tuple[str, ...]:
        """A sentence for each thing that could change what is measured."""
        writes = "Left out, because it would write files while it is evaluated: {}. Apply it to have it measured."
        calls = "Not read, because it lies on another machine than the design: {}. Copy it beside the design."
        return (*map(writes.format, self.simulations), *map(calls.format, self.elsewhere))


def disarm() -> Disarmed:
    """Take out of the open file whatever could run code or write files; return what of it matters.

    Call it when the file is read and nothing of it was evaluated yet.
    """
    data = blender().data
    elsewhere = forget_other_machines()
    fluids = tuple(_take_fluids_off())
    _remove_curves_on_caches()
    _keep_from_writing([cache for _, cache in _caches() if _is_written(cache)])
    for scene in data.scenes:
        _plain_scene(scene)
    for tree in _node_trees():
        _remove_nodes(tree)
    for text in data.texts:
        text.use_module = False
    return Disarmed(fluids, tuple(_plain_cameras()), elsewhere)


def writes_when_evaluated() -> tuple[str, ...]:
    """Return what of the open file would write to disk as soon as it is evaluated, a few words each."""
    fluids = [_fluid_words(item, modifier) for item, modifier in _fluids()]
    caches = [words for words, cache in _caches() if _is_written(cache)]
    return (*fluids, *caches, *(f"an animated cache ({curve.data_path})" for _, curve in _curves_on_caches()))


def _fluids() -> Iterator[tuple[BlenderObject, BlenderData]]:
    """Yield every fluid domain with its object."""
    for item in blender().data.objects:
        for modifier in item.modifiers:
            if modifier.type == "FLUID" and modifier.fluid_type == "DOMAIN":
                yield item, modifier


def _take_fluids_off() -> Iterator[str]:
    for item, modifier in list(_fluids()):
        yield _fluid_words(item, modifier)
        item.modifiers.remove(modifier)


def _fluid_words(item: BlenderObject, modifier: BlenderData) -> str:
    return f"the fluid simulation '{modifier.name}' of '{item.name}'"


def _caches() -> Iterator[tuple[str, BlenderData]]:
    """Yield the cache of every simulation but a fluid's, with a few words that say whose it is."""
    data = blender().data
    for item in data.objects:
        for modifier in item.modifiers:
            for cache in _caches_of(modifier):
                yield f"the simulation '{modifier.name}' of '{item.name}'", cache
        for system in item.particle_systems:
            yield f"the particles '{system.name}' of '{item.name}'", system.point_cache
    for scene in data.scenes:
        if scene.rigidbody_world is not None:
            yield f"the rigid bodies of scene '{scene.name}'", scene.rigidbody_world.point_cache


def _caches_of(modifier: BlenderData) -> list[BlenderData]:
    if modifier.type == "DYNAMIC_PAINT":
        surfaces = modifier.canvas_settings.canvas_surfaces if modifier.canvas_settings else ()
        return [surface.point_cache for surface in surfaces]
    return [modifier.point_cache] if modifier.type in ("CLOTH", "SOFT_BODY") else []


def _is_written(cache: BlenderData) -> bool:
    return cache.use_disk_cache and not cache.is_baked


def _keep_from_writing(caches: Sequence[BlenderData]) -> None:
    """Mark caches as baked: switching them to memory, the other way, deletes what they have on disk.

    The mark is set by an operator alone, and operators evaluate the scene first, so it gets an empty one to evaluate.
    """
    if not caches:
        return
    bpy = blender()
    calm = bpy.data.scenes.new("dryfit calm")
    for cache in caches:
        with bpy.context.temp_override(scene=calm, view_layer=calm.view_layers[0], point_cache=cache):
            bpy.ops.ptcache.bake_from_cache()
    bpy.data.scenes.remove(calm)


def _remove_curves_on_caches() -> None:
    """Remove animation that could switch a cache on disk on again."""
    for curves, curve in list(_curves_on_caches()):
        curves.remove(curve)


def _curves_on_caches() -> Iterator[tuple[BlenderData, AnimationCurve]]:
    """Yield every driver and F-curve that leads to a simulation's cache, with the list that it is in."""
    data = blender().data
    drivers = [each.animation_data.drivers for each in chain(data.objects, data.scenes) if each.animation_data]
    for curves in (*drivers, *chain.from_iterable(map(_curve_lists, data.actions))):
        yield from ((curves, curve) for curve in curves if ON_CACHES.search(curve.data_path))


def _curve_lists(action: BlenderID) -> Iterator[BlenderData]:
    layers = getattr(action, "layers", ())
    if not layers and hasattr(action, "fcurves"):  # of an action that has layers it is a view of one of them
        yield action.fcurves
    for strip in chain.from_iterable(layer.strips for layer in layers):
        yield from (bag.fcurves for bag in strip.channelbags)


def _plain_scene(scene: BlenderScene) -> None:
    for layer in scene.view_layers:
        for module in layer.freestyle_settings.modules:
            module.script = None
    if scene.sequence_editor is not None:
        scene.sequence_editor_clear()
    if hasattr(scene.render, "use_auto_generate_texture_cache"):
        scene.render.use_auto_generate_texture_cache = scene.render.use_texture_cache = False


def _node_trees() -> Iterator[BlenderID]:
    """Yield every tree of nodes that shades or composes, groups among them."""
    data = blender().data
    yield from data.node_groups
    for owner in chain(data.materials, data.worlds, data.lights, data.linestyles, data.textures, data.scenes):
        tree = getattr(owner, "node_tree", None)
        if tree is not None:
            yield tree


def _remove_nodes(tree: BlenderID) -> None:
    for node in [node for node in tree.nodes if node.type in NODES]:
        tree.nodes.remove(node)


def _plain_cameras() -> Iterator[str]:
    """Put plain cameras in place of those that are programs; yield the full names of the objects."""
    data = blender().data
    for camera in [camera for camera in data.cameras if _is_program(camera)]:
        plain = data.cameras.new(camera.name)
        for name in CAMERA_LOOK:
            setattr(plain, name, getattr(camera, name))
        yield from [str(item.name_full) for item in data.objects if item.data == camera]
        camera.user_remap(plain)


def _is_program(camera: BlenderID) -> bool:
    return any(getattr(camera, name, None) for name in CAMERA_PROGRAM)
