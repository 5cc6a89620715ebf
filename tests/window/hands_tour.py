"""What hands do at the bench: click landmarks, write the report, stop it, step through all that was found.

Arguments: the design's name.
"""

import json
import math
import sys
from pathlib import Path

sys.path[:0] = ["/srv/addon", "/srv"]
import bpy
import driving as drive
from bpy_extras.view3d_utils import location_3d_to_region_2d

import dryfit
from dryfit.checks.registry import CHECKS
from dryfit.sitting.landmarking.landmark_placing import missing_landmarks, placed_landmarks
from dryfit.sitting.words.finding_rows import listed_places
from dryfit.ui.modal_job import running

DESIGN = sys.argv[sys.argv.index("--") + 1]
FOLDER = Path("/srv/demo")
CLICKED = ("sellion", "pronasale", "cheilion_left", "cheilion_right")
NEAR_MM = 1.0


def bench():
    return bpy.context.scene.dryfit


def prepare():
    bpy.ops.wm.open_mainfile(filepath=str(FOLDER / f"{DESIGN}.blend"), load_ui=False)


def tour():
    yield from drive.fill_window_with_viewport()
    _, area, _ = drive.viewport()
    area.spaces.active.clip_start = 0.001
    drive.face_front()
    yield from drive.open_sidebar()
    yield from clicking()
    yield from skipping()
    yield from turning()
    yield from stopping()
    yield from writing()
    yield from stepping()
    yield from accepting()


def millimetres(place):
    return [each * bpy.context.scene.unit_settings.scale_length * 1000.0 for each in place]


def pixel_of(place):
    """The window pixel, origin at the lower left, that shows a place of the scene."""
    _, area, region = drive.viewport()
    at = location_3d_to_region_2d(region, area.spaces.active.region_3d, place)
    return region.x + round(at.x), region.y + round(at.y)


def clicking():
    """Each landmark that is clicked where the built design has it lands there, through whatever is worn over it."""
    placed = placed_landmarks(bpy.context.scene)
    wanted = {name: placed[name].matrix_world.translation.copy() for name in CLICKED}
    for name in CLICKED:
        bpy.data.objects.remove(placed[name])
    waiting = missing_landmarks(bpy.context.scene)
    assert set(CLICKED) <= set(waiting), waiting
    with drive.in_view():
        bpy.ops.dryfit.place_landmark("INVOKE_DEFAULT")
    yield 0.5
    drive.picture(f"{DESIGN}-hands-1-asked")
    for name in waiting:
        if name in wanted:
            yield from drive.click(*pixel_of(wanted[name]))
        else:
            yield from drive.press("SPACE")
    yield 0.5
    for name, place in wanted.items():
        now = placed_landmarks(bpy.context.scene)[name].matrix_world.translation
        off_mm = max(abs(each) for each in millimetres(now - place))
        print(f"landmark {name}: {off_mm:.2f} mm off", flush=True)
        assert off_mm < NEAR_MM, (name, millimetres(now), millimetres(place))
    assert set(missing_landmarks(bpy.context.scene)) == set(waiting) - set(CLICKED)
    drive.picture(f"{DESIGN}-hands-2-clicked")


def skipping():
    """A click beside the head places nothing; Esc ends and keeps what was there."""
    before = sorted(item.name for item in bpy.data.objects)
    with drive.in_view():
        bpy.ops.dryfit.place_landmark("INVOKE_DEFAULT", landmark="pronasale")
    yield 0.3
    _, _, region = drive.viewport()
    at = placed_landmarks(bpy.context.scene)["pronasale"].matrix_world.translation.copy()
    yield from drive.click(region.x + 40, region.y + 40)
    yield from drive.press("ESC")
    assert placed_landmarks(bpy.context.scene)["pronasale"].matrix_world.translation == at
    assert sorted(item.name for item in bpy.data.objects) == before


def turning():
    """While a landmark is asked for, dragging with Alt turns the view where the keys say so, and places nothing.

    With the middle button emulated Blender makes Alt and the left button into the middle one before anybody sees it.
    """
    keys = bpy.context.preferences.keymap.active_keyconfig
    for button, alt, preset in (("MIDDLEMOUSE", False, ""), ("LEFTMOUSE", True, "Industry_Compatible")):
        if preset:
            folder = Path(bpy.utils.preset_paths("keyconfig")[0])
            bpy.utils.keyconfig_set(str(folder / f"{preset}.py"))
            yield 0.5
        with drive.in_view():
            bpy.ops.dryfit.place_landmark("INVOKE_DEFAULT", landmark="pronasale")
        yield 0.3
        area = drive.viewport()[1]
        at = placed_landmarks(bpy.context.scene)["pronasale"].matrix_world.translation.copy()
        turned = area.spaces.active.region_3d.view_rotation.copy()
        x, y = pixel_of(at)
        yield from drive.drag([(x, y), (x + 30, y), (x + 60, y + 20), (x + 90, y + 20)], button, alt=alt)
        way = turned.rotation_difference(area.spaces.active.region_3d.view_rotation).angle
        print("turned by", round(math.degrees(way)), "degrees with", button, "Alt" if alt else "", flush=True)
        assert way > 0.1, "the view turns"
        assert placed_landmarks(bpy.context.scene)["pronasale"].matrix_world.translation == at, "and nothing is placed"
        yield from drive.press("ESC")
        drive.face_front()
        yield 0.3
    bpy.utils.keyconfig_set(str(Path(bpy.utils.preset_paths("keyconfig")[0]) / f"{keys}.py"))
    yield 0.5


def contents():
    """All that a run could leave behind in the file or in Blender."""
    kept = [(item.name, item.hide_get(), item.mode, [tuple(row) for row in item.matrix_world]) for item in
            bpy.context.view_layer.objects]  # fmt: skip
    keys = [(each.name, block.name, block.value, block.mute) for each in bpy.data.shape_keys
            for block in each.key_blocks]  # fmt: skip
    blocks = [len(getattr(bpy.data, kind)) for kind in ("scenes", "objects", "meshes", "materials", "collections")]
    layers = [[each.name for each in mesh.attributes] for mesh in bpy.data.meshes]
    properties = sorted(dict(bpy.context.scene.items()))
    watched = [len(getattr(bpy.app.handlers, name)) for name in ("depsgraph_update_post", "undo_post", "load_post")]
    return kept, keys, blocks, layers, properties, watched, bench().verdict, len(bench().findings)


def stopping():
    """Esc, at three moments of a report, leaves the file and the folder as they were."""
    for moment in (0.1, 1.0, 4.0):
        before = contents()
        with drive.in_view():
            bpy.ops.dryfit.write_report("INVOKE_DEFAULT", directory="/srv/report-stopped")
        yield moment
        assert running, "still at it"
        yield from drive.press("ESC")
        assert not running and contents() == before
        assert not list(Path("/srv/report-stopped").glob("**/*.*")), "nothing written"


def writing():
    with drive.in_view():
        bpy.ops.dryfit.write_report("INVOKE_DEFAULT", directory="/srv/report")
    yield from drive.until(lambda: not running, drive.PATIENCE, "written")
    written = json.loads(Path("/srv/report/report.json").read_text(encoding="utf8"))
    assert written == json.loads(bpy.context.scene["dryfit_report"])
    assert "<html" in Path("/srv/report/report.html").read_text(encoding="utf8")
    pictures = list(Path("/srv/report/heatmaps").glob("*.png"))
    print("report", written["verdict"], len(pictures), "pictures", flush=True)
    assert pictures
    assert [each["id"] for each in written["checks"]] == [each.id for each in CHECKS]
    drive.picture(f"{DESIGN}-hands-3-written")


def stepping():
    """Alt Page Down goes through every row, one a cause, notes too, and round again; Alt Page Up goes back."""
    bench().notes = bench().paint = True
    count = len(bench().findings)
    assert count == sum(len(each["findings"]) for each in json.loads(bpy.context.scene["dryfit_report"])["checks"])
    rows, seen = listed_places(bench()), []
    for _ in rows:
        yield from drive.press("PAGE_DOWN", alt=True)
        seen.append(bench().picked)
    assert sorted(seen) == rows, (seen, rows)
    yield from drive.press("PAGE_DOWN", alt=True)
    assert bench().picked == seen[0], "round again"
    yield from drive.press("PAGE_UP", alt=True)
    assert bench().picked == seen[-1], "and back"
    print("stepped through", sorted({item.check for item in bench().findings}), flush=True)
    drive.picture(f"{DESIGN}-hands-4-last")


def accepting():
    """The dialog of an exception says what is accepted and shows it; Esc leaves it open."""
    open_ones = [place for place, item in enumerate(bench().findings) if not item.exception]
    bench().picked = open_ones[0]
    yield 2.0
    with drive.in_view():
        bpy.ops.dryfit.accept_finding("INVOKE_DEFAULT")
    yield 1.0
    drive.picture(f"{DESIGN}-hands-5-accepting")
    yield from drive.press("ESC")
    assert [place for place, item in enumerate(bench().findings) if not item.exception] == open_ones
    with drive.in_view():
        bpy.ops.dryfit.accept_finding(reason="Sculpted so", by="Window")
    assert bench().findings[bench().picked].exception, "the pick stays on what was accepted"
    yield 1.0
    drive.picture(f"{DESIGN}-hands-6-accepted")


dryfit.register()
prepare()
drive.play(tour)
