"""A tour of the bench in a real window: run, pick, mend, play, sculpt, undo, save; pictures at every stop.

Arguments: the design's name, the interface scale, and the checks to run.
"""

import json
import sys
from pathlib import Path

sys.path[:0] = ["/srv/addon", "/srv"]
import bpy
import driving as drive

import dryfit
from dryfit.sitting import live
from dryfit.sitting.live_values import live_words
from dryfit.sitting.posed_view import player, posing_words

DESIGN, SCALE, CHECKS = sys.argv[sys.argv.index("--") + 1 :][:3]
FOLDER = Path("/srv/demo")


def bench():
    return bpy.context.scene.dryfit


def first(remedy):
    return next(place for place, item in enumerate(bench().findings) if item.remedy == remedy)


def prepare():
    bpy.context.preferences.view.ui_scale = float(SCALE)
    bpy.ops.wm.open_mainfile(filepath=str(FOLDER / f"{DESIGN}.blend"), load_ui=False)


def tour():
    yield from drive.fill_window_with_viewport()
    _, area, _ = drive.viewport()
    area.spaces.active.clip_start = 0.001
    for name in ("show_floor", "show_axis_x", "show_axis_y", "show_cursor", "show_extras"):
        setattr(area.spaces.active.overlay, name, False)
    with drive.in_view():
        bpy.ops.view3d.view_axis(type="FRONT")
        bpy.data.objects["Performer"].select_set(True)
        bpy.ops.view3d.view_selected()
        bpy.ops.object.select_all(action="DESELECT")
    yield from drive.open_sidebar()
    drive.picture(f"{DESIGN}-1-start")
    yield from stopping()
    yield from checking()
    yield from picking()
    if "interference" in CHECKS:
        yield from meeting()
    yield from playing()
    yield from mending()
    yield from following()
    yield from reopening()


def stopping():
    """Esc in the middle of a run leaves nothing behind."""
    with drive.in_view():
        bpy.ops.dryfit.check_fit("INVOKE_DEFAULT")
    yield 0.3
    yield from drive.press("ESC")
    yield 0.5
    assert not bench().verdict and "dryfit_report" not in bpy.context.scene, "Esc keeps nothing"
    drive.picture(f"{DESIGN}-2-stopped")


def checking():
    with drive.in_view():
        bpy.ops.dryfit.lock_base()
        bpy.ops.dryfit.check_fit("INVOKE_DEFAULT", only=CHECKS)
    yield from drive.settled()
    drive.picture(f"{DESIGN}-3-running")
    yield from drive.until(lambda: bench().verdict, drive.PATIENCE, "measured")
    assert not bench().stale
    print("findings", [(item.name, item.region, round(item.value, 2)) for item in bench().findings], flush=True)


def picking():
    """Alt Page Down, pressed as a hand would, goes to the first finding and on."""
    bench().paint = True
    yield from drive.press("PAGE_DOWN", alt=True)
    picked = bench().picked
    assert picked >= 0, "the key picks"
    yield from drive.settled()
    drive.picture(f"{DESIGN}-4-picked")
    yield from drive.press("PAGE_DOWN", alt=True)
    yield from drive.press("PAGE_UP", alt=True)
    assert bench().picked == picked
    with drive.in_view():
        bpy.ops.dryfit.read_values("INVOKE_DEFAULT")
    window, _, region = drive.viewport()
    x, y = region.x + region.width // 2 + 40, region.y + region.height // 2
    window.event_simulate(type="MOUSEMOVE", value="NOTHING", x=x - 5, y=y)
    yield 0.3
    window.event_simulate(type="MOUSEMOVE", value="NOTHING", x=x, y=y)
    yield 0.5
    drive.picture(f"{DESIGN}-5-value")
    yield from drive.press("ESC")


def meeting():
    """A finding about what meets is painted when it is picked; the slider goes to its pose and to where it starts."""
    bench().painted = "clearance"
    bench().picked = next(place for place, item in enumerate(bench().findings) if item.check == "interference")
    assert bench().painted == "overlap"
    yield from drive.settled()
    drive.picture(f"{DESIGN}-meeting-picked")
    with drive.in_view():
        assert bpy.ops.dryfit.play_finding() == {"FINISHED"}
    yield from drive.settled()
    drive.picture(f"{DESIGN}-meeting-deepest")
    with drive.in_view():
        assert bpy.ops.dryfit.go_to_start() == {"FINISHED"}
    yield 1.5
    start = next(check for check in json.loads(bpy.context.scene["dryfit_report"])["checks"]
                 if check["id"] == "interference")["measures"]["start_t"]  # fmt: skip
    assert player().motion == "jaw" and abs(bench().t - start) < 1e-5, (bench().t, start)
    print("they start to meet at", bench().t, posing_words(bpy.context.scene), flush=True)
    drive.picture(f"{DESIGN}-meeting-start")
    bpy.ops.dryfit.stop_poses()
    bench().picked = 0
    yield 0.5


def playing():
    values = [key.value for key in bpy.data.objects["Performer"].data.shape_keys.key_blocks]
    with drive.in_view():
        bpy.ops.view3d.view_axis(type="FRONT")
        assert bpy.ops.dryfit.show_poses(motion="jaw") == {"FINISHED"}
    bench().t = 1.0
    yield from drive.settled()
    drive.picture(f"{DESIGN}-6-open")
    assert player() is not None and not bpy.data.objects["Performer"].visible_get()
    bpy.ops.dryfit.stop_poses()
    yield 0.5
    assert bpy.data.objects["Performer"].visible_get()
    assert values == [key.value for key in bpy.data.objects["Performer"].data.shape_keys.key_blocks]


def mending():
    """A fix is one undo step."""
    remedy = next(item.remedy for item in bench().findings if item.remedy in ("lift", "feather", "shorten"))
    bench().picked = first(remedy)
    part, check = bench().findings[bench().picked].part, bench().findings[bench().picked].check
    before = len(bench().findings)
    with drive.in_view():
        assert bpy.ops.dryfit.mend_finding("EXEC_DEFAULT", True) == {"FINISHED"}
    yield from drive.settled()
    drive.picture(f"{DESIGN}-7-mended")
    assert f"dryfit {remedy} 1" in bpy.data.objects[part].data.shape_keys.key_blocks
    after = len(bench().findings)
    print("mended", part, check, before, "to", after, flush=True)
    with drive.in_view():
        bpy.ops.ed.undo()
    yield 0.5
    keys = bpy.data.objects[part].data.shape_keys
    assert keys is None or f"dryfit {remedy} 1" not in keys.key_blocks, "undone in one step"
    assert len(bench().findings) == before
    with drive.in_view():
        bpy.ops.ed.redo()
    yield 0.5
    assert f"dryfit {remedy} 1" in bpy.data.objects[part].data.shape_keys.key_blocks
    assert len(bench().findings) == after


def following():
    piece = next(item for item in bpy.data.objects if item.get("dryfit_role") == "appliance")
    with drive.in_view():
        bpy.context.view_layer.objects.active = piece
        piece.select_set(True)
        bpy.ops.dryfit.follow_strokes()
        bpy.ops.object.mode_set(mode="SCULPT")
        bpy.ops.view3d.view_selected()
    yield 0.5
    base = piece.data.shape_keys.key_blocks[0].data if piece.data.shape_keys else piece.data.vertices
    for step in range(3):
        for place in range(len(base)):
            if place % 3 == step:
                base[place].co.y += 0.002
        piece.data.update()
        yield 0.5
    assert live.watching() is not None or "switched itself off" in live_words(), live_words()
    print("live", live_words(), flush=True)
    yield from drive.settled()
    drive.picture(f"{DESIGN}-8-live")
    live.stop_live("")
    with drive.in_view():
        bpy.ops.object.mode_set(mode="OBJECT")
    yield 0.3


def reopening():
    listed = [(item.name, item.value) for item in bench().findings]
    bpy.ops.wm.save_as_mainfile(filepath="/srv/demo/kept.blend")
    bpy.ops.wm.open_mainfile(filepath="/srv/demo/kept.blend", load_ui=False)
    yield 2.0
    assert [(item.name, item.value) for item in bench().findings] == listed, "kept in the file"
    assert bench().paint
    drive.picture(f"{DESIGN}-9-reopened")


dryfit.register()
prepare()
drive.play(tour)
