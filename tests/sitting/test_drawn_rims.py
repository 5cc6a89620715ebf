"""Lines in the scene that draw rims: curves and edges, named, read in order, and left out of every check."""

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.scene.cage import place_lines  # noqa: E402
from dryfit.sitting.open_design import read_open_snapshot  # noqa: E402
from dryfit.sitting.room.rim_marks import mark_rim, rim_marking_refused  # noqa: E402

CORNERS = [(0.0, -0.101, 0.02), (0.01, -0.1005, 0.02), (0.02, -0.0995, 0.02)]


def curve(name="Line", bevel=0.0):
    data = bpy.data.curves.new(name, "CURVE")
    data.dimensions, data.bevel_depth = "3D", bevel
    spline = data.splines.new("POLY")
    spline.points.add(len(CORNERS) - 1)
    for point, corner in zip(spline.points, CORNERS, strict=True):
        point.co = (*corner, 1.0)
    item = bpy.data.objects.new(name, data)
    bpy.context.scene.collection.objects.link(item)
    return item


def edges(name="Edges"):
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata([CORNERS[1], CORNERS[0], CORNERS[2]], [(1, 0), (0, 2)], [])
    item = bpy.data.objects.new(name, mesh)
    bpy.context.scene.collection.objects.link(item)
    return item


@pytest.mark.parametrize("draw", [curve, edges])
def test_a_line_is_read_in_order_in_millimetres(design, draw):
    item = draw()
    item["dryfit_rim"] = "cheek"
    item.location.x = 0.001
    bpy.context.view_layer.update()
    read = read_open_snapshot(bpy.context)
    assert np.allclose(read.rims_mm["cheek"], np.array(CORNERS) * 1000.0 + [1.0, 0.0, 0.0], atol=1e-3)
    assert {part.name for part in read.parts} == {"Head", "CheekBark"} and not read.unmeasured


def test_a_tube_draws_none_and_that_is_said(design):
    curve(bevel=0.002)["dryfit_rim"] = "cheek"
    bpy.context.view_layer.update()
    read = read_open_snapshot(bpy.context)
    assert not read.rims_mm and any("'Line' is to draw a rim and is no line" in note for note in read.notes)


def test_the_button_marks_and_unmarks(design):
    item = curve()
    bpy.context.view_layer.objects.active = item
    assert bpy.ops.dryfit.mark_rim() == {"FINISHED"}
    assert item["dryfit_rim"] == "Line" and item["dryfit_role"] == "ignore"
    assert not mark_rim(item) and "dryfit_rim" not in item
    assert rim_marking_refused(design.head) and rim_marking_refused(curve("Tube", 0.002)) and rim_marking_refused(None)


def test_suggested_lines_stand_there_once_and_are_no_parts(design):
    line = np.array([[0.0, -101.0, 0.0], [5.0, -101.0, 0.0], [np.nan] * 3, [15.0, -100.0, 0.0], [20.0, -99.0, 0.0]])
    before = len(bpy.data.objects)
    for _ in range(2):
        (item,) = place_lines(design.scene, {"cheek": line})
    assert len(bpy.data.objects) == before + 1 and not [mesh for mesh in bpy.data.meshes if not mesh.users]
    assert len(item.data.vertices) == 4 and len(item.data.edges) == 2, "broken where no rim lies near"
    assert item.hide_select and item.hide_render and item["dryfit_suggested_rim"] == "cheek"
    bpy.context.view_layer.update()
    read = read_open_snapshot(bpy.context)
    assert {part.name for part in read.parts} == {"Head", "CheekBark"} and not read.rims_mm
