"""A design written as a .blend file. The only module here that needs Blender's Python module, ``bpy``.

Metres, with the scene's unit scale at 1; roles, landmarks and materials as the ID properties Dryfit reads.
"""

import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import numpy.typing as npt
from mathutils import Vector

from ..scene.locking import lock_base
from ..scene.quiet import quiet_output
from .part_meshes import SKIN_COLOUR, Colour, PartMesh
from .performer import HINGE_MM, MOTIONS, OPEN_DEG, Performer
from .shots import SHOT_CAMERA_MM, SHOT_LENS_MM, SHOT_TARGET_MM

FloatArray = npt.NDArray[np.float64]
METRES_PER_MM = 0.001
VIEW_DISTANCE_MM = 700.0
VIEW_FROM = (0.35, -1.0, 0.1)
"""Where the eye is when a file is opened: before the face, a little to its left."""
NEAREST_MM = 1.0
"""Nothing nearer to the eye is drawn; a head is small for what Blender is set to."""
CAMERA_SHOWN_MM = 80.0
"""How wide the camera is drawn: Blender's own size, a metre, would stand over the head."""


def write_design(path: Path, head: Performer, meshes: Sequence[PartMesh]) -> Path:
    """Write one design; the file appears whole or not at all.

    Parameters
    ----------
    path
        The file to write; its name is the design's.
    head
        Where shape keys and landmarks come from.
    meshes
        The objects.

    Raises
    ------
    RuntimeError
        When Blender cannot write the file.
    """
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    bpy.context.scene.unit_settings.system = "METRIC"
    bpy.context.scene.unit_settings.length_unit = "MILLIMETERS"
    collections = {name: _collection(name) for name in ("Performer", "Design", "Landmarks", "Stage")}
    for mesh in meshes:
        bare = mesh.role not in ("appliance", "hardware")
        collections["Performer" if bare else "Design"].objects.link(_object(mesh))
    _add_shape_keys(bpy.data.objects["Performer"], head.shapes_mm)
    _hang_on_jaw(bpy.data.objects["LowerTeeth"], bpy.data.objects["Performer"])
    for name, point in head.landmarks.items():
        collections["Landmarks"].objects.link(_landmark(name, point))
    _set_the_stage(collections["Stage"])
    lock_base(bpy.data.objects["Performer"])
    _frame_the_head()
    return _save(path)


def _collection(name: str) -> Any:
    collection = bpy.data.collections.new(name)
    bpy.context.scene.collection.children.link(collection)
    return collection


def _object(mesh: PartMesh) -> Any:
    """Return a new object; a part that the jaw carries has its origin on the jaw's axis."""
    origin = HINGE_MM if mesh.role == "lower_teeth" else np.zeros(3)
    data = bpy.data.meshes.new(mesh.name)
    data.vertices.add(len(mesh.vertices_mm))
    data.vertices.foreach_set("co", _flat((mesh.vertices_mm - origin) * METRES_PER_MM))
    data.loops.add(mesh.faces.size)
    data.loops.foreach_set("vertex_index", mesh.faces.ravel().astype(np.int32))
    data.polygons.add(len(mesh.faces))
    data.polygons.foreach_set("loop_start", np.arange(0, mesh.faces.size, 3, dtype=np.int32))
    data.update(calc_edges=True)
    data.shade_smooth()
    item = bpy.data.objects.new(mesh.name, data)
    item.location = origin * METRES_PER_MM
    item["dryfit_role"] = mesh.role
    if mesh.material:
        item["dryfit_material"] = mesh.material
    data.materials.append(_material(f"{mesh.name} {mesh.material}".strip(), mesh.material, mesh.colour))
    if mesh.bare.any():
        data.materials.append(_material(f"{mesh.name} on skin", "", SKIN_COLOUR))
        data.polygons.foreach_set("material_index", mesh.bare.astype(np.int32))
    item.color = (*mesh.colour, 1.0)
    for name, weights in mesh.areas.items():
        item.vertex_groups.new(name=name).add(np.flatnonzero(weights > 0.0).tolist(), 1.0, "REPLACE")
    return item


def _flat(points: FloatArray) -> npt.NDArray[np.float32]:
    return np.ascontiguousarray(points, dtype=np.float32).ravel()


def _material(name: str, substance: str, colour: Colour) -> Any:
    material = bpy.data.materials.new(name)
    material.diffuse_color = (*colour, 1.0)
    material.metallic = 0.9 if substance == "bronze" else 0.0
    material.roughness = 0.35 if substance in ("bronze", "acrylic") else 0.6
    material.use_nodes = True
    surface = material.node_tree.nodes["Principled BSDF"]
    surface.inputs["Base Color"].default_value = (*colour, 1.0)
    surface.inputs["Metallic"].default_value = material.metallic
    surface.inputs["Roughness"].default_value = material.roughness
    return material


def _add_shape_keys(item: Any, shapes_mm: Mapping[str, FloatArray]) -> None:
    item.shape_key_add(name="Basis", from_mix=False)
    rest = np.empty(3 * len(item.data.vertices), np.float32)
    item.data.vertices.foreach_get("co", rest)
    for name, moved in shapes_mm.items():
        key = item.shape_key_add(name=name, from_mix=False)
        key.data.foreach_set("co", rest + _flat(moved * METRES_PER_MM))
        key.value = 0.0
    item.data.shape_keys.name = "PerformerKeys"


def _hang_on_jaw(teeth: Any, head: Any) -> None:
    """Turn the lower teeth about the jaw's axis, in step with the head's JawOpen key: rigid at every value."""
    curve = teeth.driver_add("rotation_euler", 0)
    variable = curve.driver.variables.new()
    variable.name = "jaw"
    target = variable.targets[0]
    target.id_type = "KEY"
    target.id = head.data.shape_keys
    target.data_path = f'key_blocks["{MOTIONS["jaw"][0]}"].value'
    curve.driver.expression = f"jaw * {np.radians(OPEN_DEG):.9f}"


def _landmark(name: str, point_mm: FloatArray) -> Any:
    empty = bpy.data.objects.new(name, None)
    empty.empty_display_type = "SPHERE"
    empty.empty_display_size = 1.5 * METRES_PER_MM
    empty.location = point_mm * METRES_PER_MM
    empty["dryfit_landmark"] = name
    return empty


def _set_the_stage(collection: Any) -> None:
    """Add the stills camera, a key light, a fill and a rim light."""
    camera = bpy.data.objects.new("ShotCam", bpy.data.cameras.new("ShotCam"))
    camera.data.lens, camera.data.display_size = SHOT_LENS_MM, CAMERA_SHOWN_MM * METRES_PER_MM
    _aim(camera, SHOT_CAMERA_MM)
    bpy.context.scene.camera = camera
    bpy.context.scene.render.resolution_x = bpy.context.scene.render.resolution_y = 1080
    lights = {"KeyLight": ((-700.0, -900.0, 700.0), 22.0), "FillLight": ((900.0, -700.0, 100.0), 7.0),
              "RimLight": ((300.0, 900.0, 700.0), 26.0)}  # fmt: skip
    for name, (place, watts) in lights.items():
        light = bpy.data.objects.new(name, bpy.data.lights.new(name, "AREA"))
        light.data.energy, light.data.size = watts, 0.5
        _aim(light, place)
        collection.objects.link(light)
    collection.objects.link(camera)


def _frame_the_head() -> None:
    """Let whoever opens the file see the head, a third of the view's width, and the sidebar beside it."""
    target = Vector(SHOT_TARGET_MM) * METRES_PER_MM
    areas = [area for screen in bpy.data.screens for area in screen.areas if area.type == "VIEW_3D"]
    for space in [area.spaces.active for area in areas]:
        view = space.region_3d
        view.view_location, view.view_distance, view.view_perspective = (
            target,
            VIEW_DISTANCE_MM * METRES_PER_MM,
            "PERSP",
        )
        view.view_rotation = Vector(VIEW_FROM).to_track_quat("Z", "Y")
        space.clip_start, space.show_region_ui = NEAREST_MM * METRES_PER_MM, True


def _aim(item: Any, place_mm: tuple[float, float, float]) -> None:
    here, there = (Vector(point) * METRES_PER_MM for point in (place_mm, SHOT_TARGET_MM))
    item.location = here
    item.rotation_euler = (there - here).to_track_quat("-Z", "Y").to_euler()


def _save(path: Path) -> Path:
    beside = path.with_name(f".{path.stem}.{os.getpid()}.part.blend")
    try:
        bpy.context.preferences.filepaths.save_version = 0
        with quiet_output():
            bpy.ops.wm.save_as_mainfile(filepath=str(beside), compress=True, copy=True, check_existing=False)
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)
    return path
