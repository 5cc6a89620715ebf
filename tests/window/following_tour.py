"""Follow Strokes before anything was checked: progress, paint, words in the viewport, and why it stopped.

The words are read off what the legend is given to draw; that they are drawn is in the pictures.
"""

import sys

sys.path[:0] = ["/srv/addon", "/srv"]
import bpy
import driving as drive
import numpy as np

import bench_scene
import dryfit
from dryfit.sitting import legend, live
from dryfit.sitting.live_values import live_words
from dryfit.ui.modal_job import progress_now

written = []


def bench():
    return bpy.context.scene.dryfit


def piece():
    return bpy.data.objects["CheekBark"]


def prepare():
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    head = bench_scene.sheet_on_sphere("Head", 64, np.pi, lambda angle, turn: 0.0 * angle)
    sheet = bench_scene.sheet_on_sphere("CheekBark", 40, 0.5, bench_scene.height)
    head["dryfit_role"], sheet["dryfit_role"] = "base", "appliance"
    plain = legend.write
    legend.write = lambda words, *given, **more: (written.append(words), plain(words, *given, **more))


def start():
    with drive.in_view():
        assert bpy.ops.dryfit.follow_strokes("INVOKE_DEFAULT") == {"RUNNING_MODAL"}
    yield from drive.until(lambda: progress_now() is None, drive.PATIENCE, "started")
    assert live.watching() is not None and bench().paint and bench().painted == "clearance"


def shows(words):
    """The viewport says it, within a moment, without the mouse moving."""
    written.clear()
    yield from drive.until(
        lambda: words in " ".join(written), drive.PATIENCE, f"in the viewport: {words!r}, but {written[-6:]}"
    )


def dent(depth):
    mesh = piece().data
    flat = np.empty(len(mesh.vertices) * 3, np.float32)
    mesh.vertices.foreach_get("co", flat)
    points = flat.reshape(-1, 3)
    points[:, 1] += depth * np.clip(1.0 - (points[:, 0] ** 2 + points[:, 2] ** 2) / 0.02**2, 0.0, None)
    mesh.vertices.foreach_set("co", points.ravel())
    mesh.update()


def tour():
    yield from drive.fill_window_with_viewport()
    _, area, _ = drive.viewport()
    area.spaces.active.clip_start = 0.001
    with drive.in_view():
        bpy.context.view_layer.objects.active = piece()
        piece().select_set(True)
        bpy.ops.view3d.view_axis(type="FRONT")
        bpy.ops.view3d.view_selected()
    yield from drive.open_sidebar()
    assert not bench().verdict, "nothing was checked"
    yield from start()
    yield from shows("Live · Below the base: 2.5")
    yield 2.0
    drive.picture("following-1-started")
    dent(0.001)
    yield from shows("Live · Below the base: 3.")
    drive.picture("following-2-deeper")
    yield from topology()
    yield from too_slow()
    yield from gone()


def topology():
    with drive.in_view():
        bpy.ops.object.mode_set(mode="EDIT")
        bpy.ops.mesh.select_all(action="SELECT")
        bpy.ops.mesh.subdivide()
        bpy.ops.object.mode_set(mode="OBJECT")
    yield from shows("Live switched itself off")
    assert live.watching() is None and "topology" in live_words()
    drive.picture("following-3-topology")


def too_slow():
    yield from start()
    most, live.SLOW_SECONDS = live.SLOW_SECONDS, 0.0
    for _ in range(live.PATIENCE + 1):
        dent(0.0001)
        yield 0.6
    live.SLOW_SECONDS = most
    yield from drive.until(lambda: live.watching() is None, drive.PATIENCE, "off")
    yield from shows("too slow to follow")
    drive.picture("following-4-slow")


def gone():
    yield from start()
    with drive.in_view():
        bpy.ops.object.select_all(action="DESELECT")
        piece().select_set(True)
        bpy.ops.object.delete()
    yield from shows("a piece was removed")
    yield 2.0
    drive.picture("following-5-gone")


dryfit.register()
prepare()
drive.play(tour)
