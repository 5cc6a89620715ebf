"""Paint: there when it is on, gone when it is off, and never in the user's materials."""

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.scene.overlay import drawing  # noqa: E402
from dryfit.scene.painted import value_pairs  # noqa: E402
from dryfit.scene.painting import painted_now  # noqa: E402


def paint_of(item):
    return sorted(each.name for each in item.data.attributes if each.name.startswith("dryfit_"))


def test_on_writes_the_measured_values_and_off_takes_them_away(checked):
    before = [each.name for each in checked.piece.data.attributes]
    checked.bench.paint = True
    assert paint_of(checked.piece) == ["dryfit_clearance", "dryfit_measured"]
    values = np.empty(len(checked.piece.data.vertices), np.float32)
    checked.piece.data.attributes["dryfit_clearance"].data.foreach_get("value", values)
    assert values.min() == pytest.approx(-2.5, abs=0.05)
    checked.bench.painted = "thickness"
    assert paint_of(checked.piece) == ["dryfit_measured", "dryfit_thickness"]
    checked.bench.paint = False
    assert [each.name for each in checked.piece.data.attributes] == before
    assert paint_of(checked.head) == []


def test_painting_is_no_change_of_the_sculpt(checked):
    checked.bench.paint = True
    bpy.context.view_layer.update()
    checked.bench.paint = False
    bpy.context.view_layer.update()
    assert not checked.bench.stale


def test_the_users_material_and_override_come_back(checked):
    skin, look = bpy.data.materials.new("Skin"), bpy.data.materials.new("Look")
    checked.piece.data.materials.append(skin)
    layer = bpy.context.view_layer
    layer.material_override = look
    bpy.ops.dryfit.preview_paint()
    assert layer.material_override.name == "dryfit preview"
    assert checked.piece.data.materials[0] == skin
    bpy.ops.dryfit.preview_paint()
    assert layer.material_override == look
    assert [each.name for each in bpy.data.materials] == ["Look", "Skin"]


def test_the_preview_shader_reads_the_attribute(checked):
    bpy.ops.dryfit.preview_paint()
    nodes = bpy.data.materials["dryfit preview"].node_tree.nodes
    assert {node.attribute_name for node in nodes if node.type == "ATTRIBUTE"} == {
        "dryfit_clearance",
        "dryfit_measured",
    }


def test_modifiers_that_rebuild_a_piece_leave_its_mesh_alone_but_not_its_overlay(design):
    design.piece.modifiers.new("finer", "SUBSURF").levels = 1
    bpy.ops.dryfit.check_fit(only="additive")
    design.bench.paint = True
    assert paint_of(design.piece) == []
    (painted,) = painted_now(design.scene)
    assert len(painted.values) > len(design.piece.data.vertices)


def test_unmeasured_places_are_marked_as_such():
    pairs = value_pairs(np.array([1.5, np.nan]))
    assert pairs.tolist() == [[1.5, 1.0], [0.0, 0.0]]


def test_the_overlay_is_installed_once(scene):
    assert drawing() == 2
