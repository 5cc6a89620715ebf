"""Fixes from the bench: on a new shape key, checked again, refused with a word where they cannot be."""

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from bench_scene import findings  # noqa: E402


def positions(points):
    flat = np.empty(len(points) * 3, np.float32)
    points.foreach_get("co", flat)
    return flat.reshape(-1, 3)


def test_a_lift_goes_on_a_new_key_and_the_finding_is_gone(checked):
    before = positions(checked.piece.data.vertices)
    (checked.bench.picked,) = findings(checked.bench, "lift")
    assert bpy.ops.dryfit.mend_finding() == {"FINISHED"}
    assert not findings(checked.bench, "lift")
    blocks = checked.piece.data.shape_keys.key_blocks
    assert [block.name for block in blocks] == ["Basis", "dryfit lift 1"]
    assert np.array_equal(positions(blocks["Basis"].data), before)
    assert blocks["dryfit lift 1"].value == 1.0
    blocks["dryfit lift 1"].value = 0.0
    bpy.ops.dryfit.check_fit(only="additive")
    assert findings(checked.bench, "lift")


def test_a_key_can_be_deleted_and_the_sculpt_is_as_before(checked):
    before = positions(checked.piece.data.vertices)
    (checked.bench.picked,) = findings(checked.bench, "lift")
    bpy.ops.dryfit.mend_finding()
    checked.piece.shape_key_remove(checked.piece.data.shape_keys.key_blocks["dryfit lift 1"])
    assert np.array_equal(positions(checked.piece.data.shape_keys.key_blocks["Basis"].data), before)


def test_rims_alike_are_feathered_at_once(checked):
    checked.bench.picked = findings(checked.bench, "feather")[0]
    assert bpy.ops.dryfit.mend_finding(everywhere=True) == {"FINISHED"}
    assert not [
        place for place in findings(checked.bench, "feather") if checked.bench.findings[place].severity == "fail"
    ]


def test_a_turned_and_scaled_piece_is_lifted_where_it_is(design):
    mesh, matrix = design.piece.data, np.array([[0.0, -2.0, 0.0], [2.0, 0.0, 0.0], [0.0, 0.0, 2.0]])
    mesh.vertices.foreach_set("co", (positions(mesh.vertices) @ np.linalg.inv(matrix).T).astype(np.float32).ravel())
    design.piece.rotation_euler.z, design.piece.scale = np.pi / 2, (2.0, 2.0, 2.0)
    bpy.context.view_layer.update()
    bpy.ops.dryfit.check_fit(only="additive")
    (design.bench.picked,) = findings(design.bench, "lift")
    bpy.ops.dryfit.mend_finding()
    assert not findings(design.bench, "lift")


def test_a_piece_under_a_subdivision_is_mended_on_its_own_mesh(design):
    design.piece.modifiers.new("finer", "SUBSURF").levels = 1
    bpy.ops.dryfit.check_fit(only="additive")
    (place,) = findings(design.bench, "lift")
    deep = design.bench.findings[place].value
    design.bench.picked = place
    assert bpy.ops.dryfit.mend_finding() == {"FINISHED"}
    left = [design.bench.findings[place].value for place in findings(design.bench, "lift")]
    assert max(left, default=0.0) < 0.25 * deep
    assert len(design.piece.data.shape_keys.key_blocks["dryfit lift 1"].data) == len(design.piece.data.vertices)


def test_multiresolution_is_refused_with_what_to_do(checked):
    (checked.bench.picked,) = findings(checked.bench, "lift")
    checked.piece.modifiers.new("levels", "MULTIRES")
    bpy.context.view_layer.objects.active = checked.piece
    bpy.ops.object.multires_subdivide(modifier="levels")
    with pytest.raises(RuntimeError, match="apply them first"):
        bpy.ops.dryfit.mend_finding()
    assert checked.piece.data.shape_keys is None


def test_a_linked_piece_is_refused_and_can_still_be_measured(checked, tmp_path):
    path = str(tmp_path / "parts.blend")
    bpy.data.libraries.write(path, {checked.piece})
    bpy.data.objects.remove(checked.piece)
    with bpy.data.libraries.load(path, link=True) as (_, target):
        target.objects = ["CheekBark"]
    linked = target.objects[0]
    checked.scene.collection.objects.link(linked)
    bpy.ops.dryfit.check_fit(only="additive")
    (checked.bench.picked,) = findings(checked.bench, "lift")
    with pytest.raises(RuntimeError, match="make it local"):
        bpy.ops.dryfit.mend_finding()
    checked.bench.paint = True
    assert not [each.name for each in linked.data.attributes if each.name.startswith("dryfit_")]


def test_sculpt_mode_is_left_and_entered_again(checked):
    (checked.bench.picked,) = findings(checked.bench, "lift")
    bpy.context.view_layer.objects.active = checked.piece
    bpy.ops.object.mode_set(mode="SCULPT")
    assert bpy.ops.dryfit.mend_finding() == {"FINISHED"}
    assert checked.piece.mode == "SCULPT"
    bpy.ops.object.mode_set(mode="OBJECT")
    assert not findings(checked.bench, "lift")


def test_a_fix_whose_check_then_cannot_measure_is_not_called_a_success(checked, monkeypatch, capfd):
    """The finding is no longer listed, but nobody measured that it is gone."""
    from dataclasses import replace

    from dryfit.model.finding import Status
    from dryfit.ui import errands

    again = errands.check

    def torn(snapshot, brief, only):
        report = yield from again(snapshot, brief, only)
        blank = replace(report.checks[0], findings=(), reason="the scan ends there", status=Status.NOT_CHECKED)
        return replace(report, checks=(blank,))

    monkeypatch.setattr(errands, "check", torn)
    (checked.bench.picked,) = findings(checked.bench, "lift")
    assert bpy.ops.dryfit.mend_finding() == {"FINISHED"}
    said = capfd.readouterr().out
    assert "was not measured: the scan ends there" in said and "is gone." not in said
    assert "The finding is gone" not in said
