"""Picking findings: what is selected, and pieces that were renamed, removed or hidden since."""

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from bench_scene import findings  # noqa: E402
from dryfit.sitting.picking import spot_of  # noqa: E402
from dryfit.sitting.stored_report import finding_elements  # noqa: E402


def selected_vertices(mesh):
    flags = np.empty(len(mesh.vertices), bool)
    mesh.vertices.foreach_get("select", flags)
    return np.flatnonzero(flags)


def test_a_pick_selects_the_piece_and_exactly_its_vertices(checked):
    (hollow,) = findings(checked.bench, "lift")
    checked.bench.picked = hollow
    assert bpy.context.view_layer.objects.active == checked.piece
    assert checked.piece.select_get() and not checked.head.select_get()
    elements = finding_elements(checked.scene, "additive", checked.bench.findings[hollow].name)
    assert np.array_equal(selected_vertices(checked.piece.data), elements)


@pytest.mark.filterwarnings("error")
def test_edges_and_faces_between_picked_vertices_are_selected_without_a_warning(checked):
    """Blender's own flush, run by entering Edit Mode, must agree: an independent rule for the same selection."""
    (hollow,) = findings(checked.bench, "lift")
    checked.bench.picked = hollow
    mesh = checked.piece.data
    chosen = set(finding_elements(checked.scene, "additive", checked.bench.findings[hollow].name).tolist())
    assert [edge.select for edge in mesh.edges] == [set(edge.vertices) <= chosen for edge in mesh.edges]
    assert [face.select for face in mesh.polygons] == [set(face.vertices) <= chosen for face in mesh.polygons]
    counted = sum(face.select for face in mesh.polygons)
    bpy.ops.object.mode_set(mode="EDIT")
    assert (mesh.total_vert_sel, mesh.total_face_sel) == (len(chosen), counted)
    bpy.ops.object.mode_set(mode="OBJECT")


def test_the_place_looks_outward(checked):
    (hollow,) = findings(checked.bench, "lift")
    spot = spot_of(bpy.context, checked.bench.findings[hollow])
    assert spot.outward @ np.array([0.0, -1.0, 0.0]) > 0.9
    assert spot.size == pytest.approx(0.0085, abs=0.003)


def test_next_and_previous_go_round_and_leave_notes_out(checked):
    bench = checked.bench
    listed = [place for place, item in enumerate(bench.findings) if item.severity != "info"]
    for expected in [*listed, listed[0]]:
        bpy.ops.dryfit.step_finding(step=1)
        assert bench.picked == expected
    bpy.ops.dryfit.step_finding(step=-1)
    assert bench.picked == listed[-1]


def test_a_renamed_piece_is_still_found_painted_and_mended(checked):
    checked.piece.name = "Barked"
    (hollow,) = findings(checked.bench, "lift")
    checked.bench.picked = hollow
    assert bpy.context.view_layer.objects.active == checked.piece
    checked.bench.paint = True
    assert "dryfit_clearance" in checked.piece.data.attributes
    assert bpy.ops.dryfit.mend_finding() == {"FINISHED"}
    assert not findings(checked.bench, "lift")


def test_a_removed_piece_is_said_and_breaks_nothing(checked):
    (hollow,) = findings(checked.bench, "lift")
    bpy.data.objects.remove(checked.piece)
    checked.bench.picked = hollow
    assert checked.bench.findings[hollow].subject is None
    with pytest.raises(RuntimeError, match="no longer in the scene"):
        bpy.ops.dryfit.mend_finding()
    checked.bench.paint = True


def test_a_hidden_piece_is_not_selected_and_stays_hidden(checked):
    checked.piece.hide_set(True)
    (hollow,) = findings(checked.bench, "lift")
    checked.bench.picked = hollow
    assert not checked.piece.visible_get()
    assert bpy.context.view_layer.objects.active != checked.piece


def test_in_edit_mode_the_vertices_are_selected_there(checked):
    (hollow,) = findings(checked.bench, "lift")
    bpy.context.view_layer.objects.active = checked.piece
    bpy.ops.object.mode_set(mode="EDIT")
    checked.bench.picked = hollow
    bpy.ops.object.mode_set(mode="OBJECT")
    elements = finding_elements(checked.scene, "additive", checked.bench.findings[hollow].name)
    assert set(elements) <= set(selected_vertices(checked.piece.data).tolist())
    assert len(selected_vertices(checked.piece.data)) < 2 * len(elements) + 50
