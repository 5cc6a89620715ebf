"""Small scenes, built in Blender's own module. Without it every test here is skipped with a word."""

import hashlib
from types import SimpleNamespace

import numpy as np
import pytest

try:
    import bpy
except ImportError:
    bpy = None

NEEDS_BLENDER = "needs Blender's Python module: pip install 'dryfit[blender]'"


def pytest_collection_modifyitems(items):
    for item in items:
        if "tests/scene" in str(item.path).replace("\\", "/"):
            item.add_marker(pytest.mark.blender)
            if bpy is None:
                item.add_marker(pytest.mark.skip(reason=NEEDS_BLENDER))


@pytest.fixture(autouse=True)
def scene():
    """An empty scene in metres."""
    if bpy is None:
        pytest.skip(NEEDS_BLENDER)
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    return bpy.context.scene


@pytest.fixture
def build():
    """Builders of small objects, in Blender units."""
    return SimpleNamespace(
        sphere=sphere, box=box, empty=empty, link=link, key=key, drive=drive, camera=camera, hide_all=hide_all
    )


def link(item):
    bpy.context.scene.collection.objects.link(item)
    return item


def mesh_object(name, vertices, faces, role=None):
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(np.asarray(vertices).tolist(), [], faces)
    item = link(bpy.data.objects.new(name, mesh))
    if role:
        item["dryfit_role"] = role
    return item


def sphere(name="Head", role="base", radius=0.1, rings=24):
    """A head-sized sphere of quads and two triangle fans, normals outward."""
    columns = 2 * rings
    theta = np.pi * np.arange(1, rings) / rings
    phi = 2.0 * np.pi * np.arange(columns) / columns
    around = np.stack([np.cos(phi), np.sin(phi)], axis=1)
    body = [[*(np.sin(t) * xy), np.cos(t)] for t in theta for xy in around]
    vertices = radius * np.array([*body, [0, 0, 1], [0, 0, -1]])
    top, bottom = len(body), len(body) + 1
    quads = [
        (
            r * columns + c,
            (r + 1) * columns + c,
            (r + 1) * columns + (c + 1) % columns,
            r * columns + (c + 1) % columns,
        )
        for r in range(rings - 2)
        for c in range(columns)
    ]
    last = (rings - 2) * columns
    caps = [(top, c, (c + 1) % columns) for c in range(columns)]
    caps += [(bottom, last + (c + 1) % columns, last + c) for c in range(columns)]
    return mesh_object(name, vertices, quads + caps, role)


def box(name="Piece", role="appliance", size=(0.02, 0.03, 0.04)):
    """A box around the origin, normals outward."""
    corners = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)]) * np.array(size) / 2.0
    faces = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    return mesh_object(name, corners, faces, role)


def empty(name, landmark=None, location=(0.0, 0.0, 0.0)):
    item = link(bpy.data.objects.new(name, None))
    item.location = location
    if landmark:
        item["dryfit_landmark"] = landmark
    return item


def camera(name, location):
    item = link(bpy.data.objects.new(name, bpy.data.cameras.new(name)))
    item.location = location
    return item


def key(item, name, offset=(0.0, 0.0, 0.0), *, where=None, value=0.0):
    """Add a shape key that moves the vertices where ``where(co)`` holds by ``offset``, Blender units."""
    if item.data.shape_keys is None:
        item.shape_key_add(name="Basis")
    block = item.shape_key_add(name=name, from_mix=False)
    for point in block.data:
        if where is None or where(point.co):
            point.co = [value + step for value, step in zip(point.co, offset, strict=True)]
    block.value = value
    return block


def drive(block, expression, source, path):
    """Drive a shape key's value by a formula of ``var``, a property of ``source``."""
    curve = block.driver_add("value")
    curve.driver.expression = expression
    variable = curve.driver.variables.new()
    variable.name = "var"
    target = variable.targets[0]
    if source.id_type == "KEY":
        target.id_type = "KEY"
    target.id = source
    target.data_path = path
    return curve


def hide_all(item):
    """Hide an object in every way there is, and exclude its collection."""
    collection = bpy.data.collections.new("Hidden")
    bpy.context.scene.collection.children.link(collection)
    bpy.context.scene.collection.objects.unlink(item)
    collection.objects.link(item)
    item.hide_set(True)
    item.hide_viewport = item.hide_render = True
    collection.hide_viewport = True
    bpy.context.view_layer.layer_collection.children["Hidden"].exclude = True


@pytest.fixture
def state():
    """A function that lists all that a reading could disturb, meshes as hashes."""
    return lambda: list(scene_lines())


def scene_lines():
    """Everything that a reading could disturb, as comparable lines."""
    layer = bpy.context.view_layer
    layer.update()
    depsgraph = bpy.context.evaluated_depsgraph_get()
    yield [scene.name for scene in bpy.data.scenes], [block.name for block in bpy.data.meshes]
    yield bpy.context.scene.name, bpy.context.scene.frame_current, bpy.context.mode
    yield layer.objects.active.name if layer.objects.active else None
    for item in bpy.data.objects:
        yield item.name, item.mode, item.users, item.hide_viewport, item.hide_render, visible(item, layer)
        yield item.select_get(view_layer=layer) if item.name in layer.objects else None
        yield [tuple(row) for row in item.matrix_world]
        yield from key_lines(item)
        yield evaluated_bytes(item, depsgraph)


def visible(item, layer):
    return item.hide_get(view_layer=layer) if item.name in layer.objects else None


def key_lines(item):
    keys = getattr(item.data, "shape_keys", None)
    if keys is None:
        return
    yield item.show_only_shape_key, item.active_shape_key_index, keys.use_relative, keys.users
    for block in keys.key_blocks:
        yield block.name, block.value, block.mute, block.slider_min, block.slider_max, block.relative_key.name
        yield block.vertex_group, hashlib.sha256(positions(block.data)).hexdigest()
    if keys.animation_data:
        yield [(curve.data_path, curve.mute) for curve in keys.animation_data.drivers]
        yield [(curve.data_path, curve.mute) for curve in action_curves(keys.animation_data)]


def action_curves(data):
    if data.action is None:
        return []
    if hasattr(data, "action_slot"):
        bags = [strip.channelbag(data.action_slot) for layer in data.action.layers for strip in layer.strips]
        return [curve for bag in bags for curve in bag.fcurves]
    return list(data.action.fcurves)


def positions(points):
    flat = np.empty(len(points) * 3, dtype=np.float32)
    points.foreach_get("co", flat)
    return flat.tobytes()


def evaluated_bytes(item, depsgraph):
    if item.type != "MESH" or item.mode == "EDIT":
        return None
    evaluated = item.evaluated_get(depsgraph)
    try:
        return hashlib.sha256(positions(evaluated.to_mesh().vertices)).hexdigest()
    finally:
        evaluated.to_mesh_clear()
