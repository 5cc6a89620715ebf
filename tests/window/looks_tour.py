"""What is drawn where, to be read by eye: paint, legend, hatching, words over the view, narrow and at double scale.

Arguments: the design's name, the interface scale, ``narrow`` or ``usual``, and ``plain`` or ``industry`` keys.
"""

import sys
from pathlib import Path

sys.path[:0] = ["/srv/addon", "/srv"]
import bpy
import driving as drive

import dryfit

DESIGN, SCALE, WIDTH, KEYS = sys.argv[sys.argv.index("--") + 1 :][:4]
FOLDER = Path("/srv/demo")
NAME = f"looks-{SCALE}-{WIDTH}-{KEYS}"


def bench():
    return bpy.context.scene.dryfit


def prepare():
    bpy.context.preferences.view.ui_scale = float(SCALE)
    if KEYS == "industry":
        (presets,) = [Path(each) for each in bpy.utils.preset_paths("keyconfig")][:1]
        bpy.utils.keyconfig_set(str(presets / "Industry_Compatible.py"))
    bpy.ops.wm.open_mainfile(filepath=str(FOLDER / f"{DESIGN}.blend"), load_ui=True)
    bpy.context.preferences.view.show_splash = False


def view(perspective, axis="FRONT"):
    _, area, _ = drive.viewport()
    with drive.in_view():
        bpy.ops.view3d.view_axis(type=axis)
    area.spaces.active.region_3d.view_perspective = perspective
    yield from drive.settled()


def tour():
    yield 1.0
    _, area, _ = drive.viewport()
    assert area.spaces.active.show_region_ui, "the demonstration opens with the sidebar"
    drive.region_of(area, "UI").active_panel_category = "Dryfit"
    area.tag_redraw()
    yield from drive.settled()
    drive.picture(f"{NAME}-1-opened")
    if WIDTH == "narrow":
        yield from drive.narrow_sidebar(float(SCALE))
    bench().limits.rim_thickness_mm = 0.31
    with drive.in_view():
        assert bpy.ops.dryfit.check_fit(only="additive,edge") == {"FINISHED"}
    bench().paint, bench().painted = True, "clearance"
    yield from view("ORTHO")
    drive.picture(f"{NAME}-2-ortho")
    overlay = area.spaces.active.overlay
    assert not (overlay.show_floor or overlay.show_axis_x), "the grid makes holes in paint"
    bench().paint = False
    yield 1.0
    assert overlay.show_floor and overlay.show_axis_x, "the grid is back"
    bench().paint = True
    yield from view("ORTHO", "BACK")
    drive.picture(f"{NAME}-3-behind")
    yield from view("PERSP")
    bench().painted = "thickness"
    yield from drive.settled()
    drive.picture(f"{NAME}-4-thickness")
    with drive.in_view():
        bpy.ops.dryfit.show_poses(motion="jaw")
    bench().t = 0.7
    yield from drive.settled()
    drive.picture(f"{NAME}-5-jaw")
    bpy.ops.dryfit.stop_poses()
    yield from drive.press("PAGE_DOWN", alt=True)
    assert bench().picked >= 0, "the key picks with these keys too"
    yield 1.0
    with drive.in_view():
        bpy.ops.object.select_all(action="DESELECT")
        item = bench().findings[bench().picked].subject
        item.select_set(True)
        bpy.context.view_layer.objects.active = item
        bpy.ops.transform.translate("EXEC_DEFAULT", True, value=(0.0, 0.0, 0.0001))
    yield from drive.settled()
    drive.picture(f"{NAME}-6-older")


dryfit.register()
prepare()
drive.play(tour)
