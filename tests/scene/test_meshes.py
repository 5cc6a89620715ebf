"""Evaluated objects in world space: modifiers, parents, scales, mirrors, hidden things, areas."""

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.model.admission import admit  # noqa: E402
from dryfit.model.errors import NoFaces  # noqa: E402
from dryfit.scene.reading import read_snapshot  # noqa: E402

BOX_MM3 = 20.0 * 30.0 * 40.0


def volume_mm3(part):
    """Signed volume by the divergence theorem: positive when faces look outward."""
    a, b, c = part.vertices_mm[part.faces].transpose(1, 0, 2)
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)


def test_a_sphere_has_its_own_volume(build):
    build.sphere(rings=64)
    assert volume_mm3(read_snapshot(bpy.context).base) == pytest.approx(4.0 / 3.0 * np.pi * 100.0**3, rel=0.003)


@pytest.mark.parametrize("scale", [(1, 1, 1), (-1, 1, 1), (-1, -1, 1), (-1, -2, -3), (0.5, -2.0, 1.0)])
def test_faces_look_outward_at_every_scale(build, scale):
    item = build.box()
    item.scale = scale
    item.rotation_euler = (0.3, -0.7, 1.9)
    item.location = (0.1, 0.2, -0.3)
    expected = BOX_MM3 * abs(np.prod(scale))
    assert volume_mm3(read_snapshot(bpy.context).part("Piece")) == pytest.approx(expected, rel=1e-5)


def test_parents_with_uneven_scales_shear_and_mirror(build):
    parent = build.empty("Parent")
    parent.scale, parent.rotation_euler, parent.location = (1.0, -2.0, 0.5), (0.2, 0.4, 0.6), (0.05, 0.0, 0.1)
    item = build.box()
    item.parent = parent
    item.rotation_euler, item.location = (0.5, 0.1, 0.9), (0.01, 0.02, 0.03)
    part = read_snapshot(bpy.context).part("Piece")
    matrix = np.array(item.evaluated_get(bpy.context.evaluated_depsgraph_get()).matrix_world)
    local = np.array([vertex.co for vertex in item.data.vertices])
    np.testing.assert_allclose(part.vertices_mm, 1000.0 * (local @ matrix[:3, :3].T + matrix[:3, 3]), atol=1e-4)
    assert volume_mm3(part) == pytest.approx(BOX_MM3, rel=1e-5)


def test_modifiers_are_evaluated(build):
    item = build.box()
    array = item.modifiers.new("Row", "ARRAY")
    array.count, array.use_relative_offset, array.use_constant_offset = 3, False, True
    array.constant_offset_displace = (0.1, 0.0, 0.0)
    part = read_snapshot(bpy.context).part("Piece")
    assert len(part.vertices_mm) == 24
    assert np.ptp(part.vertices_mm[:, 0]) == pytest.approx(220.0, abs=1e-3)


def test_a_mirror_modifier_carries_areas_along(build):
    item = build.box()
    for vertex in item.data.vertices:
        vertex.co.x += 0.05
    group = item.vertex_groups.new(name="dryfit_lip_upper")
    group.add([0, 1], 0.25, "REPLACE")
    item.vertex_groups.new(name="Spine").add([2], 1.0, "REPLACE")
    item.modifiers.new("Mirror", "MIRROR")
    part = read_snapshot(bpy.context).part("Piece")
    weights = part.areas["dryfit_lip_upper"]
    assert list(part.areas) == ["dryfit_lip_upper"]
    assert len(weights) == len(part.vertices_mm) == 16
    assert sorted(weights)[-5:] == pytest.approx([0.0, 0.25, 0.25, 0.25, 0.25])


def test_hidden_and_excluded_objects_are_read_with_their_modifiers_and_said(build, state):
    build.sphere()
    item = build.box()
    item.modifiers.new("Split", "SUBSURF").levels = 1
    item.location = (0.0, -0.1, 0.0)
    build.hide_all(item)
    before = state()
    snapshot = read_snapshot(bpy.context)
    assert len(snapshot.part("Piece").vertices_mm) == 26
    assert snapshot.part("Piece").vertices_mm[:, 1].mean() == pytest.approx(-100.0, abs=1e-3)
    assert any("measured: Piece" in note for note in snapshot.notes)
    assert state() == before


def test_curves_and_text_count_as_surfaces(build):
    curve = bpy.data.curves.new("Horn", "CURVE")
    curve.dimensions, curve.bevel_depth = "3D", 0.005
    spline = curve.splines.new("POLY")
    spline.points.add(1)
    spline.points[1].co = (0.0, 0.0, 0.05, 1.0)
    build.link(bpy.data.objects.new("Horn", curve))["dryfit_role"] = "hardware"
    part = read_snapshot(bpy.context).part("Horn")
    assert len(part.faces) > 0
    assert np.ptp(part.vertices_mm[:, 2]) == pytest.approx(50.0, abs=1e-3)


@pytest.mark.parametrize("kind", ["empty", "vertices only", "no vertices"])
def test_a_role_on_something_without_a_surface_is_named_by_admission(build, kind):
    build.sphere()
    if kind == "empty":
        build.empty("Brow")["dryfit_role"] = "appliance"
    else:
        mesh = bpy.data.meshes.new("Brow")
        mesh.from_pydata([(0, 0, 0)] if kind == "vertices only" else [], [], [])
        build.link(bpy.data.objects.new("Brow", mesh))["dryfit_role"] = "appliance"
    with pytest.raises(NoFaces, match="'Brow'"):
        admit(read_snapshot(bpy.context))


def test_material_is_read(build):
    build.box()["dryfit_material"] = "silicone"
    assert read_snapshot(bpy.context).part("Piece").material == "silicone"


def test_linked_objects_are_read_and_told_apart_by_their_file(build, tmp_path):
    build.box("Piece")
    library = tmp_path / "tusks.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(library))
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    with bpy.data.libraries.load(str(library), link=True) as (_, wanted):
        wanted.objects = ["Piece"]
    build.link(wanted.objects[0])
    build.box("Piece", "hardware")
    names = {part.name: str(part.role) for part in read_snapshot(bpy.context).parts}
    assert names == {"Piece": "hardware", "Piece [tusks.blend]": "appliance"}
