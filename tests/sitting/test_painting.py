"""Paint: there when it is on, gone when it is off, and never in the user's materials."""

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.sitting.legend import pose_words, with_shared_limit  # noqa: E402
from dryfit.sitting.overlay import drawing  # noqa: E402
from dryfit.sitting.painted import value_pairs  # noqa: E402
from dryfit.sitting.painting import fields_named, on_one_scale, painted_now  # noqa: E402
from dryfit.sitting.stored_report import StoredField  # noqa: E402


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


def test_the_preview_follows_the_painted_value_and_goes_with_the_paint(checked):
    layer = bpy.context.view_layer
    bpy.ops.dryfit.preview_paint()
    checked.bench.painted = "thickness"
    nodes = layer.material_override.node_tree.nodes
    read = {node.attribute_name for node in nodes if node.type == "ATTRIBUTE"}
    assert read == set(paint_of(checked.piece)) == {"dryfit_thickness", "dryfit_measured"}
    checked.bench.paint = False
    assert layer.material_override is None
    assert "dryfit preview" not in bpy.data.materials and paint_of(checked.piece) == []


def test_the_preview_stops_where_the_chosen_value_was_not_measured(checked):
    bpy.ops.dryfit.preview_paint()
    checked.bench.painted = "exposure"
    assert bpy.context.view_layer.material_override is None


def stored(part, low, high, limit=0.2, motion="", t=0.0):
    return StoredField(part, "check", "stretch", part, "mm", "words", low, high, limit, False, motion, t, 1)


def test_pieces_share_one_scale_so_that_the_legend_holds_for_each():
    pieces = on_one_scale([stored("Brow", 0.0, 1.0), stored("Cheek", -2.0, 0.5)])
    assert [(each.part, each.low, each.high) for each in pieces] == [("Brow", -2.0, 1.0), ("Cheek", -2.0, 1.0)]
    assert on_one_scale([]) == ()


def test_a_second_piece_is_painted_on_the_scale_of_the_first(checked):
    from bench_scene import sheet_on_sphere

    flat = sheet_on_sphere("Flat", 12, 0.2, lambda angle, turn: 0.0045 + 0.0 * angle)
    flat["dryfit_role"] = "appliance"
    bpy.ops.dryfit.check_fit(only="additive")
    first, second = fields_named(checked.scene, "clearance")
    assert (first.low, first.high) == (second.low, second.high) == pytest.approx((-4.5, 4.5), abs=0.05)
    assert np.nanmax(painted_now(checked.scene)[1].values) == pytest.approx(4.5, abs=0.05)


def test_the_legend_marks_only_a_limit_that_all_share_and_says_the_pose():
    assert with_shared_limit([stored("Brow", 0, 1, 0.2), stored("Cheek", 0, 1, 0.2)]).limit == 0.2
    assert with_shared_limit([stored("Brow", 0, 1, 0.2), stored("Cheek", 0, 1, 0.3)]).limit is None
    assert pose_words([stored("Brow", 0, 1)]) == ""
    assert pose_words([stored("Brow", 0, 1, motion="brow_raise", t=0.5)]) == "at brow raise 0.50"
    two = [stored("Brow", 0, 1, motion="jaw", t=1.0), stored("Cheek", 0, 1, motion="smile", t=1.0)]
    assert pose_words(two) == "each piece at its own worst pose"


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
