"""The room in the file: kept, painted, marked old by what changes the head alone, and left by strokes."""

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.report.room_values import room_json  # noqa: E402
from dryfit.sitting import live  # noqa: E402
from dryfit.sitting.freshness import look  # noqa: E402
from dryfit.sitting.live_values import live_values, live_words  # noqa: E402
from dryfit.sitting.painting import painted_now  # noqa: E402
from dryfit.sitting.room.kept_room import StopWords, kept_kinds, kept_room, outward_of, room_of  # noqa: E402
from dryfit.sitting.room.room_names import LEFT, ROOM, STOPS  # noqa: E402
from given_room import DOWN, UP, keep_given_room  # noqa: E402


@pytest.fixture
def roomy(design):
    """The small design with a room of 6 mm above the middle of its head and 1 mm below."""
    design.room = keep_given_room(bpy.context)
    return design


@pytest.fixture
def sculpted(roomy):
    """The same, its strokes followed and what they leave of the room painted."""
    assert bpy.ops.dryfit.paint_room(value=LEFT) == {"FINISHED"}
    live._tick()
    yield roomy
    live.stop_live("")


def held(roomy):
    scene = bpy.context.scene
    assert np.allclose(room_of(scene), roomy.room.room_mm, atol=1e-4, equal_nan=True)
    assert np.allclose(outward_of(scene), roomy.room.outward, atol=1e-6)
    assert kept_room(scene)["room"]["schema"] == "dryfit.room/1" and room_json(kept_room(scene)["room"])
    assert [kind.words for kind in kept_kinds(scene)] == [UP, DOWN] and scene.dryfit.room_on


def test_the_room_outlives_saving_and_opening(roomy, tmp_path):
    held(roomy)
    path = str(tmp_path / "design.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)
    bpy.ops.wm.open_mainfile(filepath=path)
    held(roomy)
    assert bpy.context.scene.dryfit.cage.name == "Room Cage" and not bpy.context.scene.dryfit.room_outdated


def test_checks_that_run_later_leave_the_room_alone(roomy):
    bpy.ops.dryfit.check_fit(only="additive,edge")
    held(roomy)
    assert not roomy.bench.room_outdated and not any(row.name == "room" for row in roomy.bench.checks)


def test_results_are_not_old_for_a_room_and_its_cage(checked):
    keep_given_room(bpy.context)
    look(checked.scene, thoroughly=True)
    assert not checked.bench.stale and not any(row.outdated for row in checked.bench.checks)


def press(item, by):
    for vertex in item.data.vertices:
        vertex.co *= by
    item.data.update()
    bpy.context.view_layer.update()


def test_another_base_makes_it_old_and_says_so(roomy):
    press(roomy.head, 1.01)
    look(roomy.scene, thoroughly=True)
    assert "Head (shape)" in roomy.bench.room_outdated


def test_a_sculpt_leaves_it_true_but_not_the_weight_that_is_left(roomy):
    press(roomy.piece, 1.01)
    look(roomy.scene, thoroughly=True)
    assert not roomy.bench.room_outdated
    assert "CheekBark (shape)" in roomy.bench.room_weight_outdated


def test_a_limit_a_motion_and_a_landmark_make_it_old(roomy):
    limits = roomy.bench.limits
    before = limits.blend_width_mm
    limits.blend_width_mm = before + 1.0
    look(roomy.scene, thoroughly=True)
    assert "limits" in roomy.bench.room_outdated
    limits.blend_width_mm = before
    look(roomy.scene, thoroughly=True)
    assert not roomy.bench.room_outdated
    roomy.scene.objects["sellion"].location.z += 0.002
    bpy.context.view_layer.update()
    look(roomy.scene, thoroughly=True)
    assert "landmarks" in roomy.bench.room_outdated


def test_a_key_that_poses_the_jaw_makes_it_old(roomy):
    roomy.head.shape_key_add(name="Basis")
    roomy.head.shape_key_add(name="JawOpen").data[0].co.z -= 0.01
    look(roomy.scene, thoroughly=True)
    assert roomy.bench.room_outdated


def test_another_name_of_the_head_is_no_change(roomy):
    roomy.head.name = "Performer"
    look(roomy.scene, thoroughly=True)
    assert not roomy.bench.room_outdated


def test_it_is_painted_on_the_base_with_what_stops(roomy):
    roomy.bench.painted, roomy.bench.paint = ROOM, True
    (painted,) = painted_now(roomy.scene)
    assert painted.item == roomy.head and np.nanmax(painted.values) == pytest.approx(6.0)
    assert np.isnan(painted.values).any(), "what is not known is not painted"
    roomy.bench.painted = STOPS
    (painted,) = painted_now(roomy.scene)
    assert set(painted.values[np.isfinite(painted.values)]) == {0.0, 1.0}
    roomy.bench.paint = False
    assert not [each.name for each in roomy.head.data.attributes if each.name.startswith("dryfit_")]


def test_words_for_what_stops_and_for_what_is_not_known(roomy):
    words, points = StopWords(roomy.scene), roomy.room.vertices_mm
    front = points[:, 1] < 0.0
    assert words.at(int(np.where(front, points[:, 2], -np.inf).argmax())) == f"stopped by {UP}"
    assert words.at(int(np.where(front, points[:, 2], np.inf).argmin())) == f"stopped by {DOWN}"
    assert words.at(int(points[:, 1].argmax())) == "not known: There is no blink."


def dent(piece, out_m):
    """Draw the middle of the piece out, as a brush would."""
    flat = np.empty(len(piece.data.vertices) * 3, np.float32)
    piece.data.vertices.foreach_get("co", flat)
    points = flat.reshape(-1, 3)
    points[:, 1] -= out_m * np.clip(1.0 - (points[:, 0] ** 2 + (points[:, 2] - 0.015) ** 2) / 0.01**2, 0.0, None)
    piece.data.vertices.foreach_set("co", points.ravel())


def test_strokes_use_up_the_room_and_go_over_it(sculpted):
    (painted,) = painted_now(sculpted.scene)
    assert painted.item == sculpted.piece and painted.entry.limit == 0.0 and painted.live is not None
    points = np.array([vertex.co for vertex in sculpted.piece.data.vertices]) * 1000.0
    above, height = points[:, 2] > 8.0, np.linalg.norm(points, axis=1) - 100.0
    assert painted.values[above] == pytest.approx(6.0 - height[above], abs=0.12)
    assert np.nanmin(painted.values) < 0.0 and "Over the room by" in live_words() and DOWN in live_words()
    before = painted.values.copy()
    dent(sculpted.piece, 0.008)
    live._tick()
    (painted,) = painted_now(sculpted.scene)
    changed = np.flatnonzero(painted.values != before)
    assert 0 < len(changed) < len(before) // 2, "only where the stroke was"
    assert np.nanmin(painted.values[above]) < -1.0 < np.nanmin(before[above])
    assert UP in live_words()


def test_what_is_left_is_measured_only_while_it_is_painted(sculpted):
    sculpted.bench.painted = "clearance"
    stamp = live_values("CheekBark", LEFT).stamp
    dent(sculpted.piece, 0.005)
    live._tick()
    assert live_values("CheekBark", LEFT).stamp == stamp and "base" in live_words()
    sculpted.bench.painted = LEFT
    live._tick()
    assert live_values("CheekBark", LEFT).stamp > stamp and "room" in live_words()


def test_a_room_of_another_skin_is_held_against_nothing(roomy):
    bpy.context.view_layer.objects.active = roomy.head
    bpy.ops.object.mode_set(mode="EDIT")
    bpy.ops.mesh.select_all(action="SELECT")
    bpy.ops.mesh.subdivide()
    bpy.ops.object.mode_set(mode="OBJECT")
    bpy.ops.dryfit.paint_room(value=LEFT)
    try:
        assert painted_now(roomy.scene) == [] and live.watching().pieces[0].left is None
        live._tick()
        assert "not known" in live_words()
    finally:
        live.stop_live("")


def test_undo_takes_the_room_away_again(design):
    bpy.context.preferences.edit.use_global_undo = True
    bpy.ops.ed.undo_push(message="before")
    keep_given_room(bpy.context)
    bpy.ops.ed.undo_push(message="room")
    bpy.ops.ed.undo()
    scene = bpy.context.scene
    assert not kept_room(scene) and not scene.dryfit.room_on and "Room Cage" not in scene.objects
