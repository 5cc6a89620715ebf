"""The two pictures of the bench that the project's front page shows. Argument: the design's name.

The hollow cheek is shown with its finding picked and clearance painted, the tusks at the pose where they meet.
"""

import sys
from pathlib import Path

sys.path[:0] = ["/srv/addon", "/srv"]
import bpy
import driving as drive

import dryfit
from dryfit.ui import registration

DESIGN = sys.argv[sys.argv.index("--") + 1]
FOLDER = Path("/srv/demo")
CLOSED = ("DRYFIT_PT_parts", "DRYFIT_PT_exceptions")
HIDDEN = ("show_floor", "show_axis_x", "show_axis_y", "show_cursor", "show_extras", "show_relationship_lines")


def prepare():
    for each in registration.CLASSES:
        if each.__name__ in CLOSED:
            each.bl_options = {"DEFAULT_CLOSED"}
    dryfit.register()
    bpy.ops.wm.open_mainfile(filepath=str(FOLDER / f"{DESIGN}.blend"), load_ui=False)


def tour():
    yield from drive.fill_window_with_viewport()
    _, area, _ = drive.viewport()
    area.spaces.active.clip_start = 0.001
    for name in HIDDEN:
        setattr(area.spaces.active.overlay, name, False)
    drive.face_front()
    yield from drive.open_sidebar()
    yield from (contact() if "tusks" in DESIGN else finding())


def finding():
    with drive.in_view():
        bpy.ops.dryfit.check_fit(only="additive,edge")
        bpy.context.scene.dryfit.paint = True
        bpy.ops.dryfit.step_finding(step=1)
        area = drive.viewport()[1]
        area.spaces.active.region_3d.view_distance *= 2.2
    yield from drive.settled()
    drive.picture("finding-picked")


def contact():
    with drive.in_view():
        bpy.ops.dryfit.check_fit(only="closure")
        bpy.ops.dryfit.show_poses(motion="jaw")
        bpy.ops.dryfit.go_to_contact()
        area = drive.viewport()[1]
        area.spaces.active.region_3d.view_distance *= 0.55
        area.spaces.active.region_3d.view_location.z -= 0.035 / bpy.context.scene.unit_settings.scale_length
    yield from drive.settled()
    drive.picture("motion-at-contact")


prepare()
drive.play(tour)
