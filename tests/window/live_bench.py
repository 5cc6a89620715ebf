"""Sculpt a million vertices in a real window with Live on, and print what each refresh costs us.

Arguments: vertices of the piece, brush radius in pixels, strokes. The strokes are drawn by mouse events, in Sculpt
Mode. Our time is the tick (reading, measuring, saying) and the making of what is drawn; sending it to the graphics
card and drawing it are printed beside it. Wall time and processor time of Blender's main thread are both printed.
"""

import contextlib
import sys
import time
from collections import defaultdict

sys.path[:0] = ["/srv/addon", "/srv"]
import bpy
import driving as drive
import numpy as np

import dryfit
from dryfit.sitting import changes, freshness, live, painted
from dryfit.sitting.live_values import live_words

VERTICES, RADIUS, STROKES = (int(each) for each in sys.argv[sys.argv.index("--") + 1 :][:3])
STEPS = (
    (live, "_follow"), (live, "_tell"), (painted, "painted_now"), (painted, "_drawing"), (painted, "_draw"),
    (changes, "note_touched"), (freshness, "look"),
)  # fmt: skip
OURS = ("_follow", "_tell", "_drawing", "note_touched")
"""What a refresh is made of; ``_draw`` is the graphics card's part, done in software here, and ``look`` comes later,
when the hand rests."""
spent = defaultdict(list)
refreshes = []
"""Each stroke's dearest refresh: wall and processor time, milliseconds."""


def timed(module, name):
    """Note wall and processor time of each call of a module's function that does something."""
    plain = getattr(module, name)

    def call(*arguments):
        wall, used = time.perf_counter(), time.thread_time()
        answer = plain(*arguments)
        spent[name].append((time.perf_counter() - wall, time.thread_time() - used))
        return answer

    setattr(module, name, call)


def sheet(name, role, steps, width, lift):
    """A domed sheet facing -Y, metres."""
    line = np.linspace(-width / 2, width / 2, steps)
    x, z = (grid.ravel() for grid in np.meshgrid(line, line, indexing="ij"))
    corner = np.arange(steps * steps).reshape(steps, steps)
    faces = np.stack([corner[:-1, :-1], corner[1:, :-1], corner[1:, 1:], corner[:-1, 1:]], -1).reshape(-1, 4)
    mesh = bpy.data.meshes.new(name)
    mesh.vertices.add(len(x))
    mesh.vertices.foreach_set("co", np.stack([x, (x**2 + z**2) * 5.0 - lift, z], 1).astype(np.float32).ravel())
    mesh.loops.add(faces.size)
    mesh.loops.foreach_set("vertex_index", faces.astype(np.int32).ravel())
    mesh.polygons.add(len(faces))
    mesh.polygons.foreach_set("loop_start", np.arange(0, faces.size, 4, dtype=np.int32))
    mesh.update(calc_edges=True)
    item = bpy.data.objects.new(name, mesh)
    item["dryfit_role"] = role
    bpy.context.scene.collection.objects.link(item)
    return item


def prepare():
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    sheet("Scan", "base", 320, 0.12, 0.0)
    sheet("Bark", "appliance", int(VERTICES**0.5), 0.09, 0.002)
    for step in STEPS:
        timed(*step)


def choose_brush():
    """Take Blender's own Draw brush: an asset since 4.3, which is there a little after it is asked for first."""
    inside = "brushes/essentials_brushes-mesh_sculpt.blend/Brush/Draw"
    sculpt = bpy.context.tool_settings.sculpt
    for _ in range(50):
        with drive.in_view(), contextlib.suppress(RuntimeError):
            bpy.ops.brush.asset_activate(asset_library_type="ESSENTIALS", relative_asset_identifier=inside)
        if sculpt.brush is not None:
            return
        yield 0.2
    raise AssertionError("no brush to sculpt with")


def tour():
    yield from drive.fill_window_with_viewport()
    _, area, region = drive.viewport()
    area.spaces.active.clip_start = 0.001
    piece = bpy.data.objects["Bark"]
    bpy.context.view_layer.objects.active = piece
    piece.select_set(True)
    with drive.in_view():
        bpy.ops.view3d.view_axis(type="FRONT")
        bpy.ops.view3d.view_selected()
        started = time.perf_counter()
        assert bpy.ops.dryfit.check_fit(only="additive") == {"FINISHED"}
        print(f"check: {time.perf_counter() - started:.1f} s", flush=True)
        started = time.perf_counter()
        assert bpy.ops.dryfit.follow_strokes() == {"FINISHED"}
        print(f"start: {time.perf_counter() - started:.1f} s", flush=True)
        bpy.ops.object.mode_set(mode="SCULPT")
    yield from choose_brush()
    sculpt = bpy.context.tool_settings.sculpt
    unified = getattr(bpy.context.tool_settings, "unified_paint_settings", None) or sculpt.unified_paint_settings
    unified.size = RADIUS
    print("brush", sculpt.brush.name if sculpt.brush else None, live_words(), flush=True)
    yield 3.0
    random = np.random.default_rng(3)
    for stroke in range(STROKES):
        spent.clear()
        before = live.watching().pieces[0].last.copy()
        spots = random.uniform(0.35, 0.65, 2)
        x, y = int(region.x + region.width * spots[0]), int(region.y + region.height * spots[1])
        yield from drive.drag([(x, y), (x + 4, y + 2), (x + 8, y + 4)])
        yield 2.5
        if live.watching() is None:
            print("off:", live_words(), flush=True)
            break
        say(stroke, before)
        agree()
    wall, used = (np.median([each[kind] for each in refreshes]) for kind in (0, 1))
    print(f"REFRESH median of {len(refreshes)} strokes: {wall:.0f} ms wall, {used:.0f} ms processor", flush=True)
    drive.picture("live-million")


def say(stroke, before):
    """Print one stroke's costs: each step's greatest wall and processor time, milliseconds."""
    moved = len(np.unique(np.flatnonzero(before != live.watching().pieces[0].last) // 3))
    words = [f"{name} {1e3 * max(w for w, _ in each):.1f}/{1e3 * max(c for _, c in each):.1f} x{len(each)}"
             for name, each in spent.items()]  # fmt: skip
    dearest = [[1e3 * max((one[kind] for one in spent[name]), default=0.0) for name in OURS] for kind in (0, 1)]
    refreshes.append([sum(each) for each in dearest])
    words.append("results marked stale" if bpy.context.scene.dryfit.stale else "results not marked stale")
    print(f"stroke {stroke}: moved {moved}; {'; '.join(words)}; {live_words()}", flush=True)


def agree():
    """What was followed stroke by stroke is what measuring everything again finds."""
    (piece,) = live.watching().pieces
    following = piece.following
    mesh = bpy.data.objects["Bark"].data
    places = np.empty(len(mesh.vertices) * 3, np.float32)
    mesh.vertices.foreach_get("co", places)
    assert np.abs(places.reshape(-1, 3) * 1000.0 - following.vertices_mm).max() < 1e-4, "every vertex is known"
    step = 997
    assert np.array_equal(following.clearance_mm[::step], following.base.clearance_mm(following.vertices_mm[::step]))


dryfit.register()
prepare()
drive.play(tour)
