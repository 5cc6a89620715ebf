"""What the sidebar says of a design while hands change it: by itself, when the hand rests, and taken back by undo.

Nothing here asks for an answer: the window's timer finds it. Strokes are drawn by mouse events where this Blender has
brushes (Debian's trixie ships none).
"""

import contextlib
import sys
from pathlib import Path

sys.path[:0] = ["/srv/addon", "/srv"]
import bpy
import driving as drive
import numpy as np

import bench_scene
import dryfit
from dryfit.sitting.stored_report import stored_report

PATIENCE = 12.0
"""Seconds within which the sidebar must have noticed, on a busy machine."""
RUN = "additive,edge"
FOLDER = Path("/srv/standing")


def bench():
    return bpy.context.scene.dryfit


def rows():
    return {row.name: row.outdated.removeprefix("Changed since it was measured: ") for row in bench().checks}


def says(cause, what):
    """Wait until both rows name the cause; "" waits until they hold."""
    yield from drive.until(lambda: set(rows().values()) == {cause}, PATIENCE, f"{what}: {cause!r}, but {rows()}")
    assert bench().stale == bool(cause)
    print("noticed", what, rows(), bench().verdict, flush=True)


def prepare():
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    FOLDER.mkdir(exist_ok=True)
    (FOLDER / "brief.toml").unlink(missing_ok=True)
    head = bench_scene.sheet_on_sphere("Head", 64, np.pi, lambda angle, turn: 0.0 * angle)
    piece = bench_scene.sheet_on_sphere("CheekBark", 40, 0.5, bench_scene.height)
    head["dryfit_role"], piece["dryfit_role"] = "base", "appliance"
    for name, place in bench_scene.LANDMARKS.items():
        mark = bpy.data.objects.new(name, None)
        mark["dryfit_landmark"], mark.location, mark.empty_display_size = name, place, 0.003
        bpy.context.scene.collection.objects.link(mark)
    head.shape_key_add(name="Basis")
    head.shape_key_add(name="JawOpen", from_mix=False).data[5].co.z -= 0.01
    bpy.context.scene["dryfit_motions"] = '{"jaw": {"keys": {"JawOpen": [0.0, 1.0]}}}'
    bpy.ops.wm.save_as_mainfile(filepath=str(FOLDER / "design.blend"))


def piece():
    return bpy.data.objects["CheekBark"]


def tour():
    yield from drive.fill_window_with_viewport()
    _, area, _ = drive.viewport()
    area.spaces.active.clip_start = 0.001
    with drive.in_view():
        bpy.context.view_layer.objects.active = piece()
        piece().select_set(True)
        bpy.ops.view3d.view_axis(type="FRONT")
        bpy.ops.view3d.view_selected()
        assert bpy.ops.dryfit.check_fit("EXEC_DEFAULT", True, only=RUN) == {"FINISHED"}
    yield from drive.open_sidebar()
    yield from says("", "measured")
    drive.picture("standing-1-measured")
    yield from posing()
    yield from moving()
    yield from stating()
    yield from sculpting()
    yield from keeping_fresh()
    yield from levels()


def posing():
    """A key of a motion, and going into other modes, are no change."""
    bpy.data.shape_keys["Key"].key_blocks["JawOpen"].value = 0.7
    for mode in ("EDIT", "SCULPT", "OBJECT"):
        with drive.in_view():
            bpy.ops.object.mode_set(mode=mode)
        yield 1.0
    yield 3.0
    yield from says("", "posed")


def carry_piece(right, up):
    """Take what is selected so many pixels from the middle of the view, by the hand's own keys."""
    window, _, region = drive.viewport()
    yield from drive.press("G")
    x, y = region.x + region.width // 2 + right, region.y + region.height // 2 + up
    window.event_simulate(type="MOUSEMOVE", value="NOTHING", x=x, y=y)
    yield 0.2
    yield from drive.click(x, y)


def moving():
    """A part that a hand moves, and the move undone."""
    yield from carry_piece(60, 30)
    yield from says("CheekBark (place)", "moved")
    drive.picture("standing-2-moved")
    yield from drive.press("Z", ctrl=True)
    yield from says("", "move undone")


def stating():
    """A limit in the sidebar, the brief on disk, a role, a part deleted: nothing of it is an edit of a mesh."""
    bench().limits.rim_thickness_mm = 3.0
    yield from says("limits", "a limit")
    bpy.ops.dryfit.reset_limits()
    yield from says("", "the limit set back")
    (FOLDER / "brief.toml").write_text("[limits]\nrim_thickness_mm = 2.0\n", encoding="utf8")
    yield from says("limits", "the brief on disk")
    (FOLDER / "brief.toml").unlink()
    yield from says("", "the brief gone")
    piece()["dryfit_role"] = "hardware"
    yield from says("CheekBark (role)", "a role")
    piece()["dryfit_role"] = "appliance"
    yield from says("", "the role given back")
    with drive.in_view():
        bpy.ops.ed.undo_push(message="before deleting")
        bpy.ops.object.delete()
        bpy.ops.ed.undo_push(message="deleted")
    yield from says("CheekBark (gone)", "deleted")
    with drive.in_view():
        bpy.ops.ed.undo()
    yield from says("", "deleting undone")


def choose_brush():
    """Take Blender's own Draw brush; tell whether there is one."""
    inside = "brushes/essentials_brushes-mesh_sculpt.blend/Brush/Draw"
    for _ in range(25):
        with drive.in_view(), contextlib.suppress(RuntimeError, AttributeError):
            bpy.ops.brush.asset_activate(asset_library_type="ESSENTIALS", relative_asset_identifier=inside)
        if bpy.context.tool_settings.sculpt.brush is not None:
            return True
        yield 0.2
    return False


def stroke(name):
    """Go into Sculpt Mode, which changes nothing, and draw a stroke; tell whether there is a brush to do it with."""
    with drive.in_view():
        bpy.context.view_layer.objects.active = piece()
        bpy.ops.object.mode_set(mode="SCULPT")
    found = yield from choose_brush()
    if found:
        yield 3.0
        yield from says("", "Sculpt Mode entered")
        _, _, region = drive.viewport()
        x, y = region.x + region.width // 2, region.y + region.height // 2
        yield from drive.drag([(x, y), (x + 10, y + 5), (x + 25, y + 10)])
    else:
        print("no brush here: no stroke for", name, flush=True)
    return found


def leave():
    with drive.in_view():
        bpy.ops.object.mode_set(mode="OBJECT")


def sculpting():
    """A stroke is noticed without leaving Sculpt Mode; taken back, the results hold again."""
    found = yield from stroke("a mesh")
    if found:
        yield from says("CheekBark (shape)", "a stroke")
        drive.picture("standing-3-stroke")
        yield from drive.press("Z", ctrl=True)
        yield from says("", "the stroke undone")
    leave()
    yield from says("", "Sculpt Mode left")


def figures():
    """What the stored report says of each check, to the last digit."""
    return {check["id"]: (check["status"], check["measures"]) for check in stored_report(bpy.context.scene)["checks"]}


def freshened(before, what):
    """Wait until the rows hold again with other figures, which nobody asked for, and that a whole new run confirms."""
    yield from drive.until(
        lambda: figures() != before and set(rows().values()) == {""}, PATIENCE, f"fresh after {what}"
    )
    yield 0.5  # until it is drawn
    drive.picture(f"standing-fresh-{what}")
    by_itself = figures()
    with drive.in_view():  # no undo step: the next one is the hand's own
        assert bpy.ops.dryfit.check_fit("EXEC_DEFAULT", False, only=RUN) == {"FINISHED"}
    assert figures() == by_itself, (what, by_itself, figures())
    print("freshened", what, by_itself, flush=True)


def keeping_fresh():
    """With Keep Fresh on, rows are measured again once the hand rests: a move, its undoing, and a stroke as it stands."""
    bench().keep_fresh = True
    with drive.in_view():  # what strokes are followed from
        assert bpy.ops.dryfit.check_fit("EXEC_DEFAULT", True, only=RUN) == {"FINISHED"}
    at_first = figures()
    yield from carry_piece(40, 20)
    yield from freshened(at_first, "moved")
    moved = figures()
    yield from drive.press("Z", ctrl=True)
    yield from freshened(moved, "undone")
    assert figures() == at_first, (at_first, figures())
    found = yield from stroke("Keep Fresh")
    if found:
        yield from freshened(at_first, "stroke")
        assert bpy.context.mode == "SCULPT"
        yield from drive.press("Z", ctrl=True)
    leave()
    yield from says("", "rows kept fresh")
    bench().keep_fresh = False


def levels():
    """Multiresolution levels: what is sculpted there nobody can read until the tool lets go."""
    with drive.in_view():
        piece().modifiers.new("Levels", "MULTIRES")
        bpy.ops.object.multires_subdivide(modifier="Levels", mode="CATMULL_CLARK")
        assert bpy.ops.dryfit.check_fit("EXEC_DEFAULT", True, only=RUN) == {"FINISHED"}
    yield 3.0
    yield from says("", "measured on levels")
    found = yield from stroke("levels")
    if found:
        yield from says("CheekBark (being sculpted)", "a stroke on levels")
        drive.picture("standing-4-levels")
    leave()
    yield from says("CheekBark (shape)" if found else "", "what was sculpted on levels")


dryfit.register()
prepare()
drive.play(tour)
