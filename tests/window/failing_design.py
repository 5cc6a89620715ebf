"""A head-sized sphere with a piece that dips 2.5 mm below it, a camera before it; runs inside Blender."""

import bpy
import numpy as np

RADIUS = 0.1


def failing_design():
    """Return the open scene with the design in it, metres."""
    cap("Head", 48, np.pi, lambda angle: 0.0 * angle)["dryfit_role"] = "base"
    cap("CheekBark", 30, 0.5, hollow)["dryfit_role"] = "appliance"
    camera = bpy.data.objects.new("Camera", bpy.data.cameras.new("Camera"))
    camera.location, camera.rotation_euler = (0.0, -0.6, 0.0), (np.pi / 2, 0.0, 0.0)
    bpy.context.scene.collection.objects.link(camera)
    bpy.context.scene.camera = camera
    return bpy.context.scene


def hollow(angle):
    """Height over the sphere: a dome that dips 2.5 mm below it in its middle."""
    dome = 0.0001 + 0.003 * np.clip((0.5 - angle) * RADIUS / 0.02, 0.0, 1.0) ** 2
    return dome - 0.0056 * np.clip(1.0 - (angle * RADIUS / 0.012) ** 2, 0.0, None)


def cap(name, rings, reach, height_at):
    """A cap of the sphere round its front (-Y), reaching ``reach`` radians from there."""
    columns = 2 * rings
    angle = np.repeat(reach * np.arange(1, rings + 1) / (rings + 0.0001), columns)
    turn = np.tile(2 * np.pi * np.arange(columns) / columns, rings)
    ways = np.stack([np.sin(angle) * np.cos(turn), -np.cos(angle), np.sin(angle) * np.sin(turn)], axis=1)
    far = RADIUS + height_at(np.concatenate([[0.0], angle]))
    vertices = far[:, None] * np.concatenate([[[0.0, -1.0, 0.0]], ways])
    rows = np.arange(rings - 1)[:, None] * columns + 1
    first, second = np.arange(columns), (np.arange(columns) + 1) % columns
    quads = np.stack([rows + first, rows + columns + first, rows + columns + second, rows + second], axis=-1)
    fan = np.stack([np.zeros(columns, int), 1 + first, 1 + second], axis=1)
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(vertices.tolist(), [], [*quads.reshape(-1, 4).tolist(), *fan.tolist()])
    item = bpy.data.objects.new(name, mesh)
    bpy.context.scene.collection.objects.link(item)
    return item
