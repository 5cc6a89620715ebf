"""Hashes of what is stored of each object's shape: vertices, faces, shape keys, marked areas.

Reading a shape again costs milliseconds, so what is known is kept until Blender says that the object was touched.
Where a tool holds the shape (sculpting with dynamic topology or on multiresolution levels), nothing can be read:
what was known counts until it is touched, then the shape is *held* and equals nothing that was measured.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import bpy
import numpy as np
import numpy.typing as npt

from ...scene.meshes import AREA_PREFIX, group_weights
from ..surfaces import shown_vertices
from .animated_paths import animated_paths
from .digest import digest
from .setting_values import settings_of, words_in

Floats = npt.NDArray[np.float32]
Key = tuple[str, str, Floats]
"""A shape key's name, the name of the one it is relative to, and its points ``(n * 3,)``."""

SHAPING = frozenset({"crease_edge", "crease_vert", "bevel_weight_edge", "bevel_weight_vert"})
"""Attributes that Blender's own modifiers read."""
NOT_SHAPING = (".", AREA_PREFIX, "position", "material_index", "sharp_")
"""How the names of attributes begin that are told elsewhere, are paint, or change nothing of the shape."""
NODES_READ = ("material_index", "sharp_")
"""Of those, what nodes may read."""
WIDTHS = {
    "FLOAT": 1, "INT": 1, "INT8": 1, "BOOLEAN": 1, "FLOAT_VECTOR": 3, "FLOAT2": 2, "FLOAT_COLOR": 4, "BYTE_COLOR": 4,
    "QUATERNION": 4, "INT32_2D": 2, "INT16_2D": 2, "FLOAT4X4": 16,
}  # fmt: skip
"""Numbers in one value of an attribute, by its type."""
KEPT_AS = {"FLOAT_VECTOR": "vector", "FLOAT2": "vector", "FLOAT_COLOR": "color", "BYTE_COLOR": "color"}
"""What an attribute's values are called, by its type; ``value`` for every other one."""
NO_MESH = ("EMPTY", "ARMATURE", "CAMERA", "LIGHT", "SPEAKER", "LIGHT_PROBE", "VOLUME", "POINTCLOUD", "CURVES")
WAY = ("use_stretch", "use_deform_bounds", "use_radius", "use_path", "path_duration", "eval_time", "twist_", "use_map",
       "interpolation_", "use_outside", "vertex_group", "offset", "resolution", "dimensions")  # fmt: skip
"""How the names of the settings of a curve or lattice begin by which it bends or leads others."""
BALLS, BALL = ("threshold", "resolution"), ("co", "radius", "size_", "stiffness", "rotation", "type", "use_neg", "hide")
"""How the names of the settings of metaballs, and of each one, begin that shape them."""
HELD = "held"
"""The hash of a shape that cannot be read now."""


@dataclass(frozen=True)
class Shape:
    """An object's stored shape.

    Attributes
    ----------
    surface, weights
        Hashes of vertices, faces and shape keys, and of the weights of the vertex groups that something reads.
    keys
        Names of the shape keys that move something when their value changes.
    """

    surface: str
    weights: str
    keys: frozenset[str]


@dataclass
class _Known:
    """What is known of an object.

    Attributes
    ----------
    data
        The number of its data.
    mode
        The object's mode when it was touched last.
    shape
        What was read.
    touched, doubted
        Whether Blender reported a change since, and whether it is to be read again although none was reported.
    """

    data: int
    mode: str
    shape: Shape
    touched: bool = False
    doubted: bool = False


class ShapePrints:
    """The shapes that were read, by Blender's numbers for their objects in this session."""

    def __init__(self) -> None:
        self._known: dict[int, _Known] = {}

    def of(self, item: Any) -> Shape:
        """Return an object's shape, read again only where it was touched since."""
        known, held = self._known.get(item.session_uid), _held(item)
        if known is not None and known.data == _data_uid(item) and not known.touched and (held or not known.doubted):
            return known.shape
        if held:
            return Shape(HELD, "", frozenset())
        # A brush changes no weights, which are slow to read.
        weights = known.shape.weights if known is not None and item.mode == "SCULPT" else None
        shape = _read(item, weights)
        self._known[item.session_uid] = _Known(_data_uid(item), item.mode, shape)
        return shape

    def touch(self, item: Any) -> None:
        """Note that an object, and whatever shares its data, may have another shape now.

        Going into Sculpt Mode alone touches nothing of a shape that a tool then holds.
        """
        data = _data_uid(item)
        for known in self._known.values():
            if data and known.data == data:
                entered = _held(item) and known.mode != item.mode
                known.mode, known.touched = item.mode, known.touched or not entered

    def vouch(self, items: Iterable[Any]) -> None:
        """Take shapes that are held for those that were read last: what touched them since was our own doing."""
        for item in items:
            known = self._known.get(item.session_uid)
            if known is not None and _held(item):
                known.mode, known.touched = item.mode, False

    def held(self, items: Iterable[Any]) -> bool:
        """Tell whether a tool holds the shape of one of these objects."""
        return any(_held(item) for item in items)

    def doubt(self) -> None:
        """Let every shape be read again that can be read."""
        for known in self._known.values():
            known.doubted = True

    def forget(self) -> None:
        """Know nothing any more."""
        self._known.clear()


def _data_uid(item: Any) -> int:
    return int(item.data.session_uid) if item.data is not None else 0


def _held(item: Any) -> bool:
    """Tell whether a tool holds an object's shape, so that what is stored is older."""
    return item.mode == "SCULPT" and bool(item.use_dynamic_topology_sculpting or _has_levels(item))


def _has_levels(item: Any) -> bool:
    return any(each.type == "MULTIRES" and each.total_levels for each in item.modifiers)


def _read(item: Any, weights: str | None) -> Shape:
    """Read a shape; ``weights`` are what is known of its weights, or None."""
    if item.mode == "EDIT":
        item.update_from_editmode()
    mesh = item.data if item.type == "MESH" else _made_mesh(item)
    if mesh is None:
        return Shape(digest([*_points(item), *_way(item)]), "", frozenset())
    keys = [*_keys(item)]
    by_name = {name: points for name, _, points in keys}
    moving = frozenset(name for name, relative, points in keys if not np.array_equal(points, by_name[relative]))
    beside = (*_levels(item), *_read_by_modifiers(item, mesh), *_way(item))
    surface = digest([*_surface(mesh), *_key_pieces(keys), *beside])
    shape = Shape(surface, digest(_weights(item, mesh)) if weights is None else weights, moving)
    if item.type != "MESH":
        item.to_mesh_clear()
    return shape


def _made_mesh(item: Any) -> Any | None:
    """Return the mesh that a curve, a text or a surface makes; None for what makes none."""
    if item.type in NO_MESH or item.type == "LATTICE":
        return None
    try:
        return item.to_mesh()
    except RuntimeError:
        return None


def _points(item: Any) -> Iterator[Any]:
    """Yield the points of a lattice, which deforms what looks at it."""
    if item.type == "LATTICE":
        flat = np.empty(len(item.data.points) * 3, np.float32)
        item.data.points.foreach_get("co_deform", flat)
        yield flat
        for block in item.data.shape_keys.key_blocks if item.data.shape_keys is not None else ():
            points = np.empty(len(block.data) * 3, np.float32)
            block.data.foreach_get("co", points)
            yield points
            yield f"{block.name} {block.mute} {free_value(item.data.shape_keys, block)}".encode()


def _way(item: Any) -> Iterator[Any]:
    """Yield what shapes metaballs, and by what a curve or a lattice bends or leads others beside its points."""
    if item.type == "META":
        yield str([settings_of(item.data, BALLS), *(settings_of(each, BALL) for each in item.data.elements)]).encode()
    if item.type not in ("CURVE", "SURFACE", "LATTICE"):
        return
    set_by_others = animated_paths(item.data)
    values = settings_of(item.data, WAY)
    yield str(sorted((name, value) for name, value in values.items() if name not in set_by_others)).encode()
    for line in item.data.splines if item.type != "LATTICE" else ():
        for points in (line.points, line.bezier_points):
            for name in ("tilt", "radius"):
                flat = np.empty(len(points), np.float32)
                points.foreach_get(name, flat)
                yield flat


def free_value(keys: Any, block: Any) -> float | None:
    """Return a shape key's value, None where animation or a driver sets it."""
    return None if block.path_from_id("value") in animated_paths(keys) else round(block.value, 6)


def _surface(mesh: Any) -> Iterator[Any]:
    yield shown_vertices(mesh)
    yield _corners(mesh)
    yield len(mesh.polygons).to_bytes(8, "little")


def _read_by_modifiers(item: Any, mesh: Any) -> Iterator[Any]:
    """Yield what else of the mesh its modifiers shape it by: creases, and whatever nodes may read."""
    if not item.modifiers or item.mode == "EDIT":
        return
    with_nodes = any(each.type == "NODES" for each in item.modifiers)
    for each in sorted(mesh.attributes, key=lambda one: str(one.name)):
        width = WIDTHS.get(each.data_type, 0)
        read = each.name.startswith(NODES_READ) or not each.name.startswith(NOT_SHAPING)
        if width and (each.name in SHAPING or (with_nodes and read)):
            flat = np.empty(len(each.data) * width, np.float32)
            each.data.foreach_get(KEPT_AS.get(each.data_type, "value"), flat)
            yield each.name.encode()
            yield flat


def _corners(mesh: Any) -> npt.NDArray[np.int32]:
    """Return the vertex of each face's corner; as one block, except in Edit Mode."""
    flat = np.empty(len(mesh.loops), np.int32)
    stored = mesh.attributes.get(".corner_vert")
    if stored is not None and len(stored.data) == len(flat):
        stored.data.foreach_get("value", flat)
    else:
        mesh.loops.foreach_get("vertex_index", flat)
    return flat


def _keys(item: Any) -> Iterator[Key]:
    keys = getattr(item.data, "shape_keys", None)
    for block in keys.key_blocks if keys is not None and item.type == "MESH" else ():
        points = np.empty(len(block.points) * 3, np.float32)
        block.points.foreach_get("co", points)
        yield block.name, block.relative_key.name, points


def _key_pieces(keys: Iterable[Key]) -> Iterator[Any]:
    for name, relative, points in keys:
        yield f"{name} {relative}".encode()
        yield points


def _levels(item: Any) -> Iterator[Floats]:
    """Yield the surface that multiresolution levels give: what is sculpted on them is stored where nobody can read."""
    if _has_levels(item):
        yield shown_vertices(item.evaluated_get(_shown_depsgraph()).data)


def _shown_depsgraph() -> Any:
    """Return what the window shows, evaluated; a render's handlers run where there is no context."""
    windows = bpy.data.window_managers[0].windows if not bpy.app.background else ()
    shown = next((window.view_layer.depsgraph for window in windows), None)
    return shown or bpy.context.evaluated_depsgraph_get()


def _weights(item: Any, mesh: Any) -> Iterator[Any]:
    weights = group_weights(item, mesh, _groups_read(item))
    for name in sorted(weights):
        yield name.encode()
        yield weights[name]


def _groups_read(item: Any) -> set[str]:
    """Return the names of the vertex groups that mark areas, or that a modifier or a shape key is limited by."""
    words = {
        getattr(modifier, each.identifier)
        for modifier in item.modifiers
        for each in modifier.bl_rna.properties
        if each.type == "STRING"
    }
    keys = getattr(item.data, "shape_keys", None)
    words |= {block.vertex_group for block in (keys.key_blocks if keys is not None else ())}
    words |= {*words_in(item.modifiers)}
    names = [group.name for group in item.vertex_groups]
    return {name for name in names if name in words or name.startswith(AREA_PREFIX)}
