"""Paint in a real window: the four values one after the other, figures under the cursor, and nothing left when off.

Argument: the design's name. The viewport's pixels before paint is switched on and after it is off are compared.
"""

import subprocess
import sys
from pathlib import Path

sys.path[:0] = ["/srv/addon", "/srv"]
import bpy
import driving as drive
import numpy as np
from bpy_extras.view3d_utils import location_3d_to_region_2d

import dryfit
from dryfit.sitting import value_probe
from dryfit.sitting.painting import painted_now

DESIGN = sys.argv[sys.argv.index("--") + 1]
FOLDER = Path("/srv/demo")
VALUES = ("clearance", "thickness", "stretch", "exposure")
AROUND_MM = 2.0
ROUNDED = 0.006
"""Figures are written with two decimals."""


def bench():
    return bpy.context.scene.dryfit


def prepare():
    system = bpy.context.preferences.system
    system.viewport_aa, system.use_overlay_smooth_wire = "OFF", False
    bpy.ops.wm.open_mainfile(filepath=str(FOLDER / f"{DESIGN}.blend"), load_ui=False)


def tour():
    yield from drive.fill_window_with_viewport()
    _, area, _ = drive.viewport()
    space = area.spaces.active
    space.clip_start, space.show_region_ui, space.show_region_toolbar = 0.001, False, False
    drive.face_front()
    with drive.in_view():
        assert bpy.ops.dryfit.check_fit(only="additive,edge,strain,coverage") == {"FINISHED"}
    yield from settle()
    before = left_in_file()
    drive.picture("paint-before")
    bench().paint = True
    for name in VALUES:
        yield from one_value(name)
    bench().painted = "clearance"
    with drive.in_view():
        bpy.ops.dryfit.preview_paint()
    yield from settle()
    bench().paint = False
    yield from settle()
    assert left_in_file() == before
    drive.picture("paint-after")
    assert differing_pixels("paint-before", "paint-after") == 0


def settle():
    _, area, _ = drive.viewport()
    area.tag_redraw()
    yield 1.0
    area.tag_redraw()
    yield 1.0


def left_in_file():
    """All that paint could leave behind: attributes, materials, overrides, handlers."""
    layers = sorted((mesh.name, [each.name for each in mesh.attributes]) for mesh in bpy.data.meshes)
    slots = sorted((item.name, [slot.name for slot in item.material_slots]) for item in bpy.data.objects)
    materials = sorted(each.name for each in bpy.data.materials)
    watched = [len(getattr(bpy.app.handlers, name)) for name in ("depsgraph_update_post", "undo_post", "load_post")]
    return layers, slots, materials, bpy.context.view_layer.material_override, watched, value_probe._probe


def one_value(name):
    bench().painted = name
    yield from settle()
    painted = painted_now(bpy.context.scene)
    assert painted, name
    drive.picture(f"paint-{name}")
    assert differing_pixels("paint-before", f"paint-{name}") > 500, "it is drawn"
    with drive.in_view():
        bpy.ops.dryfit.read_values("INVOKE_DEFAULT")
    window, area, region = drive.viewport()
    read = 0
    for each in painted:
        place, low, high = front_of(each)
        at = location_3d_to_region_2d(region, area.spaces.active.region_3d, place)
        for step in (6, 0):
            window.event_simulate(
                type="MOUSEMOVE", value="NOTHING", x=region.x + round(at.x) - step, y=region.y + round(at.y)
            )
            yield 0.4
        words = value_probe._probe[0].words if value_probe._probe else ""
        print(name, each.item.name, f"{low:.2f} to {high:.2f}:", words, flush=True)
        if words.startswith(f"{each.item.name}: ") and words[-1] != "e":
            figure = float(words.removeprefix(f"{each.item.name}: ").split()[0])
            assert low - ROUNDED <= figure <= high + ROUNDED, words
            read += 1
    assert read, f"no figure of {name} was read"
    drive.picture(f"paint-{name}-figure")
    yield from drive.press("ESC")
    assert not value_probe._probe


def front_of(painted):
    """The measured vertex nearest to the camera, and the least and greatest value measured near it."""
    item = painted.item
    mesh = item.evaluated_get(bpy.context.evaluated_depsgraph_get()).data
    flat = np.empty(len(mesh.vertices) * 3, np.float32)
    mesh.vertices.foreach_get("co", flat)
    points = flat.reshape(-1, 3) @ np.array(item.matrix_world.to_3x3()).T + np.array(item.matrix_world.translation)
    front = int(np.where(np.isfinite(painted.values), points[:, 1], np.inf).argmin())
    near = np.linalg.norm((points - points[front])[:, [0, 2]], axis=1)
    near_mm = near * 1000.0 * bpy.context.scene.unit_settings.scale_length
    values = painted.values[near_mm < AROUND_MM]
    from mathutils import Vector

    return Vector(points[front].tolist()), float(np.nanmin(values)), float(np.nanmax(values))


def differing_pixels(one, other):
    """Count the pixels that two pictures of the screen do not share, as ImageMagick does."""
    paths = [str(drive.PICTURES / f"{each}.png") for each in (one, other)]
    done = subprocess.run(["compare", "-metric", "AE", *paths, "null:"], capture_output=True, text=True, check=False)
    return int(float(done.stderr.split()[0]))


dryfit.register()
prepare()
drive.play(tour)
