"""Playing a motion: every part where the checks put it, gap and contact in words, nothing of the file touched."""

import json
from types import SimpleNamespace

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from bench_scene import findings, sheet_on_sphere  # noqa: E402
from dryfit.model.progress import drain  # noqa: E402
from dryfit.sitting.posed_view import player, posing_words, stop_playing  # noqa: E402
from dryfit.sitting.words.pose_words import contact_t, pose_words  # noqa: E402
from dryfit.ui import errands  # noqa: E402
from dryfit.ui.mending import DRYFIT_OT_mend_finding  # noqa: E402
from dryfit.ui.modal_job import RunsJob  # noqa: E402
from dryfit.ui.motions import scene_motions  # noqa: E402

HINGE = {
    "tragion_left": (0.07, 0.0, 0.0), "tragion_right": (-0.07, 0.0, 0.0),
    "exocanthion_left": (0.04, -0.085, 0.03), "exocanthion_right": (-0.04, -0.085, 0.03),
    "cheilion_left": (0.025, -0.09, -0.04), "cheilion_right": (-0.025, -0.09, -0.04),
    "stomion_superius": (0.0, -0.092, -0.0395), "stomion_inferius": (0.0, -0.092, -0.0400),
    "gnathion": (0.0, -0.075, -0.075), "sellion": (0.0, -0.095, 0.035),
}  # fmt: skip


@pytest.fixture
def playing():
    yield
    stop_playing()


@pytest.fixture
def keyed(design):
    """The head turns its whole skin 20 mm down and 5 mm back at the end of the jaw's key; the piece rides it."""
    design.head.shape_key_add(name="Basis")
    key = design.head.shape_key_add(name="JawOpen", from_mix=False)
    for point in key.data:
        point.co.z -= 0.02
        point.co.y += 0.005
    key.value = 0.0
    bpy.ops.dryfit.add_motion(motion="jaw", key="JawOpen", start=0.0, end=1.0)
    return design


def positions(item):
    flat = np.empty(len(item.data.vertices) * 3, np.float32)
    item.data.vertices.foreach_get("co", flat)
    return flat.reshape(-1, 3) * 1000.0


def test_a_riding_piece_goes_where_the_skin_takes_it(keyed, playing):
    """A translation of the whole skin is a closed form: whatever rides it makes the same translation."""
    assert bpy.ops.dryfit.show_poses(motion="jaw") == {"FINISHED"}
    at_rest = positions(keyed.piece)
    for t in (0.0, 0.25, 1.0):
        moved = player().poser.vertices("CheekBark", t)
        assert np.abs(moved - at_rest - np.array([0.0, 5.0, -20.0]) * t).max() < 2e-3


def test_playing_touches_no_key_and_shows_again_what_it_hid(keyed, playing):
    other = bpy.context.scene.view_layers.new("Beauty")
    keyed.piece.hide_set(True, view_layer=other)
    spare = sheet_on_sphere("Spare", 6, 0.1, lambda angle, turn: 0.0 * angle)
    spare["dryfit_role"] = "appliance"
    spare.hide_set(True)
    bpy.ops.dryfit.show_poses(motion="jaw")
    keyed.bench.t = 0.7
    assert not keyed.piece.visible_get() and not keyed.head.visible_get()
    keyed.piece.name = "Barked"
    assert keyed.head.data.shape_keys.key_blocks["JawOpen"].value == 0.0
    bpy.ops.dryfit.stop_poses()
    assert keyed.piece.visible_get() and keyed.head.visible_get()
    assert keyed.piece.hide_get(view_layer=other), "hidden elsewhere by the user, and still so"
    assert spare.hide_get(), "hidden before by the user, and still so"
    assert player() is None and posing_words(keyed.scene) is None


def test_landmarks_do_not_stay_at_rest_beside_a_posed_face(keyed, playing):
    marks = [item for item in keyed.scene.objects if "dryfit_landmark" in item]
    marks[0].hide_set(True)
    bpy.ops.dryfit.show_poses(motion="jaw")
    assert not any(mark.visible_get() for mark in marks)
    bpy.ops.dryfit.stop_poses()
    assert all(mark.visible_get() for mark in marks[1:]) and marks[0].hide_get()


def test_without_keys_the_jaw_is_offered_on_a_hinge_once_its_landmarks_are_there(design, playing):
    assert "jaw" not in scene_motions(design.scene), "three of its landmarks are missing"
    hinge_landmarks(design)
    assert scene_motions(design.scene)["jaw"].hinge is not None
    assert bpy.ops.dryfit.show_poses(motion="jaw") == {"FINISHED"}
    assert design.head.data.shape_keys is None
    poses = player().poser
    chin = positions(design.head)[nearest(design.head, HINGE["gnathion"])]
    lowered = poses.vertices("Head", 1.0)[nearest(design.head, HINGE["gnathion"])]
    brow = poses.vertices("Head", 1.0)[nearest(design.head, HINGE["sellion"])]
    assert lowered[2] < chin[2] - 10.0
    assert np.allclose(brow, positions(design.head)[nearest(design.head, HINGE["sellion"])], atol=1e-6)
    assert poses.jaw_angle_deg(1.0) == pytest.approx(25.0, abs=0.01), "the hinge's usual opening"


def hinge_landmarks(design):
    for item in [each for each in bpy.data.objects if "dryfit_landmark" in each]:
        bpy.data.objects.remove(item)
    for name, place in HINGE.items():
        mark = bpy.data.objects.new(name, None)
        mark["dryfit_landmark"], mark.location = name, place
        design.scene.collection.objects.link(mark)
    bpy.context.view_layer.update()


def nearest(item, place):
    return int(np.linalg.norm(positions(item) - np.array(place) * 1000.0, axis=1).argmin())


def told(scene, closure, t):
    scene["dryfit_report"] = json.dumps({"checks": [{"id": "closure", "status": "fail", "reason": "", **closure}]})
    return pose_words(scene, "jaw", t)


CLOSURE = {
    "measures": {"contact_t": 0.25, "contact_pair": "tusk on upper teeth", "closes": 0},
    "curves": {"gap_by_t": {"x": [0.25, 0.5, 0.75, 1.0], "y": [4.0, None, 12.0, 16.0]}},
}  # fmt: skip


def test_gap_and_contact_are_those_of_the_report_at_that_pose(design):
    assert told(design.scene, CLOSURE, 0.5)[0] == "Gap between the lips: 8.00 mm", "a missing figure is no zero"
    assert "12.00 mm" in told(design.scene, CLOSURE, 0.75)[0]
    assert told(design.scene, CLOSURE, 0.5)[1] == "First contact at 25.0 % (tusk on upper teeth): still free here"
    assert "parts would cross here" in told(design.scene, CLOSURE, 0.2)[1]
    assert told(design.scene, CLOSURE, 0.24999)[1].endswith(": here"), "a slider's number is no finer"
    assert "from 25 % to 100 % only" in told(design.scene, CLOSURE, 0.2)[0]
    assert contact_t(design.scene) == 0.25


def test_what_was_not_measured_is_said_as_such(design):
    assert pose_words(design.scene, "jaw", 0.5) == ["Run the check Closure to see gap and contact."]
    assert pose_words(design.scene, "blink", 0.5) == []
    unmeasured = {"status": "not_checked", "reason": "no lips", "measures": {}, "curves": {}}
    assert told(design.scene, unmeasured, 0.5) == ["Closure was not measured: No lips"]
    assert contact_t(design.scene) is None
    with pytest.raises(RuntimeError, match="run the check Closure"):
        bpy.ops.dryfit.go_to_contact()


def test_the_slider_goes_to_the_contact(design):
    told(design.scene, CLOSURE, 0.5)
    assert bpy.ops.dryfit.go_to_contact() == {"FINISHED"}
    assert design.bench.t == pytest.approx(0.25)


def test_a_changed_design_says_that_the_figures_are_older(design):
    row = design.bench.checks.add()
    row.name, row.outdated = "edge", "Changed since it was measured: CheekBark (shape)"
    assert "check again" not in told(design.scene, CLOSURE, 0.5)[-1], "the rim says nothing here"
    row.name = "closure"
    assert "check again" in told(design.scene, CLOSURE, 0.5)[-1]


def test_a_tooth_on_the_jaw_turns_rigidly_with_it(design, playing):
    """Distances within a tooth are the same at every t: what rides the mandible is a rigid body."""
    hinge_landmarks(design)
    tooth = sheet_on_sphere("Fang", 6, 0.05, lambda angle, turn: 0.0 * angle - 0.01)
    tooth["dryfit_role"] = "lower_teeth"
    bpy.ops.dryfit.show_poses(motion="jaw")
    before, after = (player().poser.vertices("Fang", t) for t in (0.0, 1.0))
    assert np.linalg.norm(after - before, axis=1).min() > 1.0
    assert np.allclose(apart(before), apart(after), atol=1e-9)


def apart(points):
    return np.linalg.norm(points[:, None] - points[None], axis=2)


def test_a_fix_while_a_motion_plays_is_drawn_mended(keyed, playing):
    """What was drawn before the fix is not drawn after it, nor said."""
    bpy.ops.dryfit.check_fit(only="additive,edge")
    bpy.ops.dryfit.show_poses(motion="jaw")
    before = player().poser.vertices("CheekBark", 0.5)
    (keyed.bench.picked,) = findings(keyed.bench, "lift")
    assert bpy.ops.dryfit.mend_finding() == {"FINISHED"}
    after = player().poser.vertices("CheekBark", 0.5)
    assert 1.0 < np.abs(after - before).max() < 6.0 and player().motion == "jaw"


def test_a_fix_that_is_stopped_while_a_motion_plays_leaves_the_old_piece_drawn(keyed, playing):
    bpy.ops.dryfit.check_fit(only="additive,edge")
    bpy.ops.dryfit.show_poses(motion="jaw")
    drawn, kept = player(), keyed.scene["dryfit_report"]
    (keyed.bench.picked,) = findings(keyed.bench, "lift")
    run = SimpleNamespace(remedy="", everywhere=False, in_window=False)
    run.read = lambda context: RunsJob.read(run, context)
    work = DRYFIT_OT_mend_finding.work(run, bpy.context)
    asked = next(work)
    for _ in range(2):
        asked = work.send(drain(asked.started()))
    assert asked.job is errands.play, "mended and measured; what carries it is looked for"
    work.close()
    assert player() is drawn and keyed.scene["dryfit_report"] == kept
    assert keyed.piece.data.shape_keys is None


def test_a_motion_that_was_forgotten_is_drawn_no_more_after_a_fix(keyed, playing):
    bpy.ops.dryfit.check_fit(only="additive,edge")
    bpy.ops.dryfit.show_poses(motion="jaw")
    bpy.ops.dryfit.remove_motion(motion="jaw")
    (keyed.bench.picked,) = findings(keyed.bench, "lift")
    assert bpy.ops.dryfit.mend_finding() == {"FINISHED"}
    assert player() is None and keyed.piece.visible_get()
