"""Hinges and excursions kept with a scene: listed as what they are, kept by every edit, and used by the checks."""

import json

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from test_scrubbing import hinge_landmarks, positions  # noqa: E402

import dryfit  # noqa: E402
from bench_scene import sheet_on_sphere  # noqa: E402
from dryfit.model.brief import ExcursionBrief, HingeBrief, MotionBrief, Way  # noqa: E402
from dryfit.scene.motions import stored_motions  # noqa: E402
from dryfit.sitting.posed_view import player, stop_playing  # noqa: E402
from dryfit.ui.motion_words import icon_of, made_of  # noqa: E402
from dryfit.ui.motions import scene_motions  # noqa: E402

KEPT = {
    "jaw": {"hinge": {"open_deg": 30.0, "rest_deg": 0.0}},
    "laterotrusion_left": {"excursion": {"amount_mm": 6.0}},
    "lisp": {"excursion": {"way": "ahead"}},
    "smile": {"keys": {"Smile": [0.0, 0.9]}},
}
MEANT = {
    "jaw": MotionBrief(hinge=HingeBrief(open_deg=30.0, rest_deg=0.0)),
    "laterotrusion_left": MotionBrief(excursion=ExcursionBrief(Way.LEFT, 6.0)),
    "lisp": MotionBrief(excursion=ExcursionBrief(Way.AHEAD)),
    "smile": MotionBrief(keys={"Smile": (0.0, 0.9)}),
}


@pytest.fixture
def kept(design):
    hinge_landmarks(design)
    design.head.shape_key_add(name="Basis")
    for name in ("Smile", "Brows", "JawOpen"):
        design.head.shape_key_add(name=name)
    design.scene["dryfit_motions"] = json.dumps(KEPT)
    yield design
    stop_playing()


def test_adding_and_removing_one_keeps_all_others(kept):
    assert stored_motions(kept.scene) == MEANT
    bpy.ops.dryfit.add_motion(motion="brow_raise", key="Brows", start=0.0, end=1.0)
    brows = MotionBrief(keys={"Brows": (0.0, 1.0)})
    assert stored_motions(kept.scene) == {**MEANT, "brow_raise": brows}
    bpy.ops.dryfit.remove_motion(motion="lisp")
    left = {name: motion for name, motion in MEANT.items() if name != "lisp"}
    assert stored_motions(kept.scene) == {**left, "brow_raise": brows}


def test_a_key_takes_a_hinges_place_and_that_is_said(kept, capfd):
    bpy.ops.dryfit.add_motion(motion="jaw", key="JawOpen", start=0.0, end=1.0)
    assert stored_motions(kept.scene) == {**MEANT, "jaw": MotionBrief(keys={"JawOpen": (0.0, 1.0)})}
    assert "'JawOpen' makes it now, in place of: hinge, opens 30°" in capfd.readouterr().out


def test_each_is_named_by_what_it_is(kept):
    words = {name: made_of(motion) for name, motion in scene_motions(kept.scene).items()}
    assert words == {
        "jaw": "hinge, opens 30°",
        "laterotrusion_left": "lower jaw to the left by 6 mm, teeth parted 2.9 mm",
        "lisp": "lower jaw forward by 8.2 mm (published mean), teeth parted 2.9 mm",
        "smile": "Smile 0 to 0.9",
    }
    known = bpy.types.UILayout.bl_rna.functions["label"].parameters["icon"].enum_items.keys()
    assert {icon_of(motion) for motion in MEANT.values()} <= set(known)
    assert len({icon_of(motion) for motion in MEANT.values()}) == 3


def test_the_sidebar_plays_them_with_their_own_figures(kept):
    tooth = sheet_on_sphere("Fang", 6, 0.05, lambda angle, turn: 0.0 * angle - 0.01)
    tooth["dryfit_role"] = "lower_teeth"
    assert bpy.ops.dryfit.show_poses(motion="jaw") == {"FINISHED"}
    assert player().poser.jaw_angle_deg(1.0) == pytest.approx(30.0, abs=0.01)
    stop_playing()
    assert bpy.ops.dryfit.show_poses(motion="laterotrusion_left") == {"FINISHED"}
    gone = player().poser.vertices("Fang", 1.0) - positions(tooth)
    assert gone[:, 0].mean() == pytest.approx(6.0, abs=0.5), "the performer's left is +X"
    assert np.abs(player().poser.vertices("Fang", 0.0) - positions(tooth)).max() < 1e-3


def motions_of(report):
    return next(check for check in report["checks"] if check["id"] == "interference")["measures"]["motions"]


def test_checks_from_the_sidebar_and_from_the_file_look_at_them(kept, tmp_path):
    sheet_on_sphere("Fang", 6, 0.05, lambda angle, turn: 0.0 * angle - 0.01)["dryfit_role"] = "lower_teeth"
    bpy.ops.dryfit.check_fit(only="interference")
    in_sidebar = json.loads(kept.scene["dryfit_report"])
    path = str(tmp_path / "design.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)
    from_file = dryfit.check(dryfit.load_snapshot(path), only=["interference"]).to_dict()
    assert motions_of(from_file) == motions_of(in_sidebar) == "jaw, laterotrusion_left, lisp, smile"
    assert from_file["inputs"]["motions"] == in_sidebar["inputs"]["motions"]
    assert from_file["inputs"]["brief_sha256"] == in_sidebar["inputs"]["brief_sha256"]
