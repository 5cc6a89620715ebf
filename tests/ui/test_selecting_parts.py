"""Buttons that select one object: alone, active, and only where that can be done."""

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from bench_scene import sheet_on_sphere  # noqa: E402


@pytest.fixture
def bolt(design):
    sheet_on_sphere("Bolt", 6, 0.1, lambda angle, turn: 0.0 * angle)["dryfit_role"] = "hardware"
    return bpy.data.objects["Bolt"]


@pytest.mark.parametrize("button", ["select_part", "show_part"])
def test_it_selects_that_object_alone(bolt, button):
    for item in bpy.data.objects:
        item.select_set(item != bolt)
    assert getattr(bpy.ops.dryfit, button)(part="Bolt") == {"FINISHED"}
    assert [item.name for item in bpy.context.selected_objects] == ["Bolt"]
    assert bpy.context.view_layer.objects.active == bolt


@pytest.mark.parametrize("button", ["select_part", "show_part"])
def test_a_hidden_object_is_said_and_nothing_is_selected_in_its_place(bolt, button):
    before = [item.name for item in bpy.context.selected_objects if item != bolt]
    bolt.hide_set(True)
    assert getattr(bpy.ops.dryfit, button)(part="Bolt") == {"CANCELLED"}
    assert [item.name for item in bpy.context.selected_objects] == before
