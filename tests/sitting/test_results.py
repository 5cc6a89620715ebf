"""Running checks from the bench, and results that stay with the file."""

import json

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from bench_scene import findings  # noqa: E402
from dryfit.report.schema import validate  # noqa: E402
from dryfit.sitting.stored_report import field_values, finding_elements, stored_fields, stored_report  # noqa: E402


def test_a_run_lists_what_was_found_worst_first_with_value_and_limit(checked):
    bench = checked.bench
    assert bench.verdict == "fail" and not bench.stale
    (hollow,) = findings(bench, "lift")
    assert bench.findings[hollow].value == pytest.approx(2.5, abs=0.05)
    assert bench.findings[hollow].limit == pytest.approx(0.2)
    assert findings(bench, "feather")
    order = [("fail", "review", "info").index(item.severity) for item in bench.findings]
    assert order == sorted(order)
    assert all(item.subject == checked.piece for item in bench.findings if item.part == "CheekBark")


def test_the_stored_report_is_a_report(checked):
    values = stored_report(checked.scene)
    validate(values)
    assert {check["id"] for check in values["checks"]} == {"additive", "edge"}
    assert json.loads(checked.scene["dryfit_report"]) == values


def test_a_check_run_alone_keeps_the_others_results(checked):
    bpy.ops.dryfit.check_fit(only="edge")
    assert [item.name for item in checked.bench.checks] == ["additive", "edge"]
    assert findings(checked.bench, "lift")


def test_nothing_is_lost_by_saving_and_opening(checked, tmp_path):
    before = [(item.name, item.value, item.remedy) for item in checked.bench.findings]
    (hollow,) = findings(checked.bench, "lift")
    elements = finding_elements(checked.scene, "additive", checked.bench.findings[hollow].name)
    path = str(tmp_path / "design.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)
    bpy.ops.wm.open_mainfile(filepath=path)
    scene = bpy.context.scene
    assert [(item.name, item.value, item.remedy) for item in scene.dryfit.findings] == before
    assert scene.dryfit.verdict == "fail"
    assert np.array_equal(finding_elements(scene, "additive", scene.dryfit.findings[hollow].name), elements)
    (clearance,) = [entry for entry in stored_fields(scene) if entry.name == "clearance"]
    assert np.nanmin(field_values(scene, clearance)) == pytest.approx(-2.5, abs=0.05)
    assert scene.dryfit.findings[hollow].subject == bpy.data.objects["CheekBark"]


def test_a_change_of_the_sculpt_is_noticed(checked):
    before = checked.piece.data.vertices[5].co.y
    checked.piece.data.vertices[5].co.y -= 0.01
    checked.piece.data.update()
    bpy.context.view_layer.update()
    assert checked.bench.stale
    checked.piece.data.vertices[5].co.y = before
    checked.piece.data.update()
    bpy.context.view_layer.update()
    assert not checked.bench.stale, "put back as it was"
    checked.piece.location.y += 0.001
    bpy.context.view_layer.update()
    assert checked.bench.stale
    bpy.ops.dryfit.check_fit(only="additive")
    assert checked.bench.stale, "the rim was measured where the piece stood before"
    bpy.ops.dryfit.check_fit(only="edge")
    assert not checked.bench.stale


def test_a_refused_run_keeps_the_earlier_results(checked):
    before = checked.scene["dryfit_report"]
    checked.scene.unit_settings.scale_length = 0.001
    with pytest.raises(RuntimeError, match="across"):
        bpy.ops.dryfit.check_fit()
    assert checked.scene["dryfit_report"] == before
    assert len(checked.bench.findings)


def test_without_a_base_the_button_says_why(scene):
    with pytest.raises(RuntimeError, match="No object has the role Base"):
        bpy.ops.dryfit.check_fit()


def test_two_scenes_keep_their_own_results(checked):
    other = bpy.data.scenes.new("Other")
    assert not other.dryfit.verdict and not len(other.dryfit.findings)
    assert stored_report(other) == {}


def test_an_unknown_check_is_refused_by_name(design):
    with pytest.raises(RuntimeError, match="no check 'closeness'"):
        bpy.ops.dryfit.check_fit(only="closeness")
