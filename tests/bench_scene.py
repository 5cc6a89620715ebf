"""A small design on the bench, in Blender's own module. Without it every test here is skipped with a word."""

from types import SimpleNamespace

import numpy as np
import pytest

import dryfit

try:
    import bpy
except ImportError:
    bpy = None

NEEDS_BLENDER = "needs Blender's Python module: pip install 'dryfit[blender]'"
RADIUS = 0.1
LANDMARKS = {
    "tragion_left": (0.09, 0.0, 0.0),
    "tragion_right": (-0.09, 0.0, 0.0),
    "sellion": (0.0, -0.1, 0.03),
    "gnathion": (0.0, -0.08, -0.06),
    "pronasale": (0.0, -0.1, 0.0),
}


@pytest.fixture(scope="session")
def enabled():
    """The extension, switched on once for all tests."""
    if bpy is None:
        pytest.skip(NEEDS_BLENDER)
    dryfit.register()
    yield
    dryfit.unregister()


@pytest.fixture
def scene(enabled):
    """An empty scene in metres."""
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    return bpy.context.scene


@pytest.fixture
def design(scene):
    """A head-sized sphere and a piece on its front: a hollow 2.5 mm deep, a rim 1.2 mm thick on its left half."""
    head = sheet_on_sphere("Head", 64, np.pi, lambda angle, turn: 0.0 * angle)
    piece = sheet_on_sphere("CheekBark", 40, 0.5, height)
    head["dryfit_role"], piece["dryfit_role"] = "base", "appliance"
    for name, place in LANDMARKS.items():
        mark = bpy.data.objects.new(name, None)
        mark["dryfit_landmark"], mark.location = name, place
        bpy.context.scene.collection.objects.link(mark)
    bpy.context.view_layer.update()
    return SimpleNamespace(scene=scene, head=head, piece=piece, bench=scene.dryfit)


def height(angle, turn):
    """Height over the sphere, metres: a dome with a hollow at its middle and a thick rim on one side."""
    from_rim = (0.5 - angle) * RADIUS
    dome = 0.0001 + 0.003 * np.clip(from_rim / 0.02, 0.0, 1.0) ** 2
    hollow = 0.0056 * np.clip(1.0 - (angle * RADIUS / 0.012) ** 2, 0.0, None)
    thick = np.where((np.cos(turn) > 0.3) & (from_rim < 0.008), 0.0011, 0.0)
    return dome - hollow + thick


def sheet_on_sphere(name, rings, reach, height_at):
    """A cap of a sphere round -Y (the front), reaching ``reach`` radians from its pole; normals outward."""
    columns = 2 * rings
    angle, turn = np.meshgrid(
        reach * np.arange(1, rings + 1) / (rings + 0.0001), 2 * np.pi * np.arange(columns) / columns, indexing="ij"
    )
    angle, turn = angle.ravel(), turn.ravel()
    far = RADIUS + np.concatenate([[height_at(np.zeros(1), np.zeros(1))[0]], height_at(angle, turn)])
    ways = np.stack([np.sin(angle) * np.cos(turn), -np.cos(angle), np.sin(angle) * np.sin(turn)], axis=1)
    vertices = far[:, None] * np.concatenate([[[0.0, -1.0, 0.0]], ways])
    quads = [
        (1 + r * columns + c, 1 + (r + 1) * columns + c, 1 + (r + 1) * columns + (c + 1) % columns,
         1 + r * columns + (c + 1) % columns)
        for r in range(rings - 1) for c in range(columns)
    ]  # fmt: skip
    fan = [(0, 1 + c, 1 + (c + 1) % columns) for c in range(columns)]
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(vertices.tolist(), [], quads + fan)
    item = bpy.data.objects.new(name, mesh)
    bpy.context.scene.collection.objects.link(item)
    return item


@pytest.fixture
def checked(design):
    """The design, measured for clearance and rim."""
    assert bpy.ops.dryfit.check_fit(only="additive,edge") == {"FINISHED"}
    return design


def findings(bench, remedy):
    return [place for place, item in enumerate(bench.findings) if item.remedy == remedy and item.severity != "info"]
