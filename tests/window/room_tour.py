"""The room in a real window: Esc, progress, the map, what stops, the cage with a form through it, room left in a stroke.

Argument: the design's name.
"""

import sys
from pathlib import Path

sys.path[:0] = ["/srv/addon", "/srv"]
import bpy
import driving as drive
import numpy as np

import dryfit
from dryfit.sitting import legend, live
from dryfit.sitting.live_values import live_words
from dryfit.sitting.painting import painted_now
from dryfit.sitting.room.kept_room import kept_room, standing_cage
from dryfit.ui import registration
from dryfit.ui.modal_job import progress_now

DESIGN = sys.argv[sys.argv.index("--") + 1]
FOLDER = Path("/srv/demo")
written = []


def bench():
    return bpy.context.scene.dryfit


def prepare():
    for each in registration.CLASSES:
        if issubclass(each, bpy.types.Panel):
            each.bl_options = set() if "room" in each.__name__ else {"DEFAULT_CLOSED"}
    dryfit.register()
    bpy.ops.wm.open_mainfile(filepath=str(FOLDER / f"{DESIGN}.blend"), load_ui=False)
    plain = legend.write
    legend.write = lambda words, *given, **more: (written.append(words), plain(words, *given, **more))


def settle():
    _, area, _ = drive.viewport()
    for _ in range(2):
        area.tag_redraw()
        yield 1.0


def start():
    with drive.in_view():
        assert bpy.ops.dryfit.compute_room("INVOKE_DEFAULT") == {"RUNNING_MODAL"}
    yield from drive.until(lambda: progress_now() and progress_now().fraction > 0.05, 240, "under way")


def worn():
    return [item for item in bpy.data.objects if item.get("dryfit_role") == "appliance"]


def tour():
    yield from drive.fill_window_with_viewport()
    _, area, _ = drive.viewport()
    area.spaces.active.clip_start = 0.001
    drive.face_front()
    area.spaces.active.region_3d.view_distance *= 0.8
    yield from drive.open_sidebar()
    yield from settle()
    drive.picture("room-1-before")
    yield from stopped()
    yield from measured()
    yield from painted()
    yield from caged()
    yield from left()


def stopped():
    yield from start()
    drive.picture("room-2-running")
    yield from drive.press("ESC")
    yield from drive.until(lambda: progress_now() is None, 20, "stopped")
    assert not kept_room(bpy.context.scene) and standing_cage(bpy.context.scene) is None


def measured():
    yield from start()
    yield from drive.until(lambda: progress_now() is None, 600, "measured")
    assert kept_room(bpy.context.scene) and bench().room_on and not bench().room_outdated
    for sentence in kept_room(bpy.context.scene)["sentences"]["regions"][:4]:
        print(sentence, flush=True)
    with drive.in_view():
        bpy.ops.ed.undo()
    assert not kept_room(bpy.context.scene) and standing_cage(bpy.context.scene) is None, "one step takes it all back"
    with drive.in_view():
        bpy.ops.ed.redo()
    assert kept_room(bpy.context.scene) and standing_cage(bpy.context.scene) is not None


def painted():
    for item in worn():
        item.hide_set(True)
    yield from settle()
    assert bench().paint and painted_now(bpy.context.scene)
    drive.picture("room-3-map")
    with drive.in_view():
        bpy.ops.dryfit.read_values("INVOKE_DEFAULT")
    window, _, region = drive.viewport()
    for step in (6, 0):
        x, y = region.x + region.width // 2 - 150 - step, region.y + region.height // 2 + 60
        window.event_simulate(type="MOUSEMOVE", value="NOTHING", x=x, y=y)
        yield 0.5
    drive.picture("room-4-figure")
    yield from drive.press("ESC")
    with drive.in_view():
        bpy.ops.dryfit.paint_room(value="room_stops")
    yield from settle()
    drive.picture("room-5-what-stops")
    with drive.in_view():
        bpy.ops.view3d.view_axis(type="LEFT")
    yield from settle()
    drive.picture("room-6-what-stops-side")


def caged():
    bench().paint = False
    for item in worn():
        item.hide_set(False)
    with drive.in_view():
        bpy.ops.dryfit.show_cage()
        bpy.ops.view3d.view_axis(type="FRONT")
        bpy.ops.view3d.view_orbit(angle=0.7, type="ORBITLEFT")
    yield from settle()
    drive.picture("room-7-cage")


def draw_out(item, by_mm):
    """Draw a piece out at its foremost place, as a brush would; return how many vertices moved."""
    flat = np.empty(len(item.data.vertices) * 3, np.float32)
    item.data.vertices.foreach_get("co", flat)
    points = flat.reshape(-1, 3)
    mm = 1000.0 * bpy.context.scene.unit_settings.scale_length * np.mean(item.matrix_world.to_scale())
    front = points[points[:, 1].argmin()].copy()
    push = np.clip(1.0 - ((points - front) ** 2).sum(axis=1) / (12.0 / mm) ** 2, 0.0, None)
    points[:, 1] -= by_mm / mm * push
    item.data.vertices.foreach_set("co", points.ravel())
    item.data.update()
    return int((push > 0.0).sum())


def left():
    with drive.in_view():
        assert bpy.ops.dryfit.paint_room("INVOKE_DEFAULT", value="room_left") == {"RUNNING_MODAL"}
    yield from drive.until(lambda: progress_now() is None and live.watching(), 240, "followed")
    yield from drive.until(lambda: "room" in live_words(), 60, "told")
    print("before the stroke:", live_words(), flush=True)
    yield from settle()
    drive.picture("room-8-left")
    watch = live.watching()
    moved = sum(draw_out(item, 30.0) for item in worn() if "Cheek" in item.name or "Brow" in item.name)
    yield from drive.until(lambda: "Over the room by" in live_words(), 30, f"over: {live_words()}")
    print("after a stroke on", moved, "vertices:", live_words(), "in s", round(watch.seconds, 3), flush=True)
    assert live.watching() is not None and not bench().room_outdated, "a sculpt leaves the room true"
    yield from settle()
    assert any("Over the room" in words for words in written), written[-5:]
    drive.picture("room-9-through-the-cage")
    bench().limits.blend_width_mm += 1.0
    yield from drive.until(lambda: bench().room_outdated, 60, "marked old")
    yield from settle()
    drive.picture("room-10-old")


prepare()
drive.play(tour)
