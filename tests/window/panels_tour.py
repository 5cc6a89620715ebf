"""Every panel open at once, to be read by eye: arguments are the design's name, the interface scale and a name.

A third argument ``narrow`` drags the sidebar's edge until it is as narrow as Blender lets it be.
"""

import sys
from pathlib import Path

sys.path[:0] = ["/srv/addon", "/srv"]
import bpy
import driving as drive

import dryfit
from dryfit.ui import registration

DESIGN, SCALE, WIDTH = sys.argv[sys.argv.index("--") + 1 :][:3]
FOLDER = Path("/srv/demo")


def open_panels():
    for each in registration.CLASSES:
        if issubclass(each, bpy.types.Panel):
            each.bl_options = set()


def prepare():
    bpy.context.preferences.view.ui_scale = float(SCALE)
    bpy.ops.wm.open_mainfile(filepath=str(FOLDER / f"{DESIGN}.blend"), load_ui=False)


def tour():
    yield from drive.fill_window_with_viewport()
    _, area, _ = drive.viewport()
    area.spaces.active.clip_start = 0.001
    bench = bpy.context.scene.dryfit
    with drive.in_view():
        bpy.ops.view3d.view_axis(type="FRONT")
        bpy.ops.dryfit.check_fit(only="additive,closure" if "tusks" in DESIGN else "additive,edge")
        bench.paint = True
        bpy.ops.dryfit.step_finding(step=1)
        bpy.ops.dryfit.accept_finding(reason="a deliberate fang", by="Ida")
        bpy.ops.dryfit.step_finding(step=1)
    yield from drive.open_sidebar()
    if WIDTH == "narrow":
        yield from drive.narrow_sidebar(float(SCALE))
    yield from drive.settled()
    print("sidebar", drive.region_of(area, "UI").width, "pixels", flush=True)
    drive.picture(f"panels-{SCALE}-{WIDTH}")
    with drive.in_view():
        bpy.ops.dryfit.show_poses(motion="jaw")
        bpy.ops.dryfit.go_to_contact() if bpy.ops.dryfit.go_to_contact.poll() else None
    yield from drive.settled()
    drive.picture(f"panels-{SCALE}-{WIDTH}-playing")


open_panels()
dryfit.register()
prepare()
drive.play(tour)
