"""Roles, limits, motions, exceptions: plain properties that the command line reads too."""

import json
from dataclasses import fields

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from bench_scene import findings  # noqa: E402
from dryfit.model.limits import Limits  # noqa: E402
from dryfit.scene.exceptions import stored_exceptions  # noqa: E402
from dryfit.scene.motions import stored_motions  # noqa: E402
from dryfit.sitting.landmarking.landmark_placing import (  # noqa: E402
    Spot,
    missing_landmarks,
    place_landmark,
    placed_landmarks,
    remove_landmark,
)
from dryfit.sitting.open_design import scene_brief  # noqa: E402


def select(*items):
    for each in bpy.context.view_layer.objects:
        each.select_set(each in items)
    bpy.context.view_layer.objects.active = items[0] if items else None


def test_a_role_is_a_plain_property_of_each_selected_object(design):
    select(design.piece)
    bpy.ops.dryfit.assign_role(role="hardware")
    assert design.piece["dryfit_role"] == "hardware"
    bpy.ops.dryfit.clear_role(part="CheekBark")
    assert "dryfit_role" not in design.piece


def test_a_design_has_one_base(design):
    select(design.piece)
    bpy.ops.dryfit.assign_role(role="base")
    assert design.piece["dryfit_role"] == "base" and "dryfit_role" not in design.head
    select(design.piece, design.head)
    with pytest.raises(RuntimeError, match="one base"):
        bpy.ops.dryfit.assign_role(role="base")


def test_every_limit_is_in_the_sidebar_with_its_default(design):
    shown = design.bench.limits
    for entry in fields(Limits):
        assert getattr(shown, entry.name) == pytest.approx(entry.default), entry.name
        described = shown.bl_rna.properties[entry.name]
        assert entry.metadata["source"] in described.description
        assert entry.metadata["basis"] in described.description.lower()
        assert (described.hard_min, described.hard_max) == pytest.approx(
            (entry.metadata["least"], entry.metadata["most"])
        )
        assert described.name.endswith(")")


def test_a_changed_limit_is_stored_plainly_used_and_reset(design):
    design.bench.limits.additive_tolerance_mm = 3.0
    assert json.loads(design.scene["dryfit_limits"]) == {"additive_tolerance_mm": 3.0}
    bpy.ops.dryfit.check_fit(only="additive")
    assert not findings(design.bench, "lift")
    bpy.ops.dryfit.reset_limits()
    assert "dryfit_limits" not in design.scene
    assert scene_brief(design.scene).limits == Limits()


def test_the_brief_beside_the_file_sets_limits_and_the_sidebar_goes_over_it(design, tmp_path):
    (tmp_path / "brief.toml").write_text("[limits]\nadditive_tolerance_mm = 0.7\nrim_thickness_mm = 0.4\n")
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "design.blend"))
    limits = bpy.context.scene.dryfit.limits
    assert limits.additive_tolerance_mm == pytest.approx(0.7)
    limits.rim_thickness_mm = 0.5
    brief = scene_brief(bpy.context.scene)
    assert (brief.limits.additive_tolerance_mm, brief.limits.rim_thickness_mm) == (0.7, 0.5)


def test_motions_are_stored_as_the_reader_reads_them(design):
    design.head.shape_key_add(name="Basis")
    design.head.shape_key_add(name="JawOpen")
    bpy.ops.dryfit.add_motion(motion="jaw", key="JawOpen", start=0.0, end=0.8)
    assert dict(stored_motions(design.scene)["jaw"].keys) == {"JawOpen": (0.0, 0.8)}
    with pytest.raises(RuntimeError, match="'Jaw'"):
        bpy.ops.dryfit.add_motion(motion="jaw", key="Jaw")
    bpy.ops.dryfit.remove_motion(motion="jaw")
    assert not stored_motions(design.scene)


def test_landmarks_are_empties_that_move_when_placed_again(design):
    from mathutils import Vector

    assert "gnathion" not in missing_landmarks(design.scene)
    place_landmark(design.scene, "pupil_left", Spot(Vector((0.03, -0.09, 0.02))))
    item = placed_landmarks(design.scene)["pupil_left"]
    assert item["dryfit_landmark"] == "pupil_left" and item.type == "EMPTY"
    again = place_landmark(design.scene, "pupil_left", Spot(Vector((0.031, -0.09, 0.02))))
    assert again == item and tuple(item.location) == pytest.approx((0.031, -0.09, 0.02))
    assert remove_landmark(design.scene, "pupil_left")
    assert "pupil_left" in missing_landmarks(design.scene)


def test_an_exception_needs_a_reason_counts_at_once_and_is_kept(checked, tmp_path):
    bench = checked.bench
    (bench.picked,) = findings(bench, "lift")
    with pytest.raises(RuntimeError, match="reason in writing"):
        bpy.ops.dryfit.accept_finding(reason="  ")
    bpy.ops.dryfit.accept_finding(reason="painted out in post", by="Ida")
    (kept,) = stored_exceptions(checked.scene)
    assert (kept.check, kept.object, kept.reason, kept.by) == ("additive", "CheekBark", "painted out in post", "Ida")
    assert len(kept.on) == 10
    assert bench.checks["additive"].status == "pass"
    path = str(tmp_path / "design.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)
    bpy.ops.wm.open_mainfile(filepath=path)
    bpy.ops.dryfit.check_fit(only="additive")
    report = json.loads(bpy.context.scene["dryfit_report"])
    assert report["exceptions"][0]["reason"] == "painted out in post"
    assert bpy.context.scene.dryfit.checks["additive"].status == "pass"
    bpy.ops.dryfit.withdraw_exception(place=0)
    assert bpy.context.scene.dryfit.checks["additive"].status == "fail"


def test_a_lock_is_kept_and_a_changed_scan_shows_in_the_report(checked):
    bpy.ops.dryfit.lock_base()
    bpy.ops.dryfit.check_fit(only="additive")
    assert json.loads(checked.scene["dryfit_report"])["base"]["lock"] == "held"
    checked.head.data.vertices[10].co.z += 0.001
    bpy.ops.dryfit.check_fit(only="additive")
    base = json.loads(checked.scene["dryfit_report"])["base"]
    assert (base["lock"], base["max_change_mm"]) == ("changed", pytest.approx(1.0, abs=1e-3))
    bpy.ops.dryfit.unlock_base()
    with pytest.raises(RuntimeError, match="not locked"):
        bpy.ops.dryfit.unlock_base()
