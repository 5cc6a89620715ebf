"""Volumes and centres against the formulas of sphere, torus, slab and hemisphere, and against another library."""

import numpy as np
import pytest
import trimesh

import shapes
from dryfit.geometry.inertia import closed_bulk, prism_bulk, together
from dryfit.geometry.solids import solid_pieces, welded_faces

SHIFT = np.array([12.0, -34.0, 56.0])


def material(vertices, faces):
    return together(solid_pieces(vertices, faces))


def test_sphere_and_torus_have_the_volumes_of_their_formulas():
    """4/3 pi r3; Pappus: 2 pi2 R r2."""
    vertices, faces = shapes.icosphere(5, 50.0)
    assert closed_bulk(vertices, faces).volume_mm3 == pytest.approx(4 / 3 * np.pi * 50**3, rel=0.002)
    vertices, faces = shapes.torus(60.0, 20.0)
    bulk = closed_bulk(vertices + SHIFT, faces)
    assert bulk.volume_mm3 == pytest.approx(2 * np.pi**2 * 60 * 20**2, rel=0.002)
    assert bulk.centre_mm == pytest.approx(SHIFT, abs=1e-6)


def test_a_slab_is_exact():
    sheet = shapes.sheet(100.0, 10)
    vertices, faces = shapes.slab(*sheet, np.full(len(sheet[0]), 5.0), lift_mm=2.0)
    bulk = material(vertices, faces)
    assert bulk.volume_mm3 == pytest.approx(50_000.0, rel=1e-12)
    assert bulk.centre_mm == pytest.approx([0.0, 0.0, 4.5], abs=1e-9)


def test_a_hemisphere_balances_at_three_eighths_of_its_radius():
    vertices, faces = shapes.icosphere(6, 50.0)
    upper = vertices[faces][(vertices[faces][:, :, 2] >= -1e-9).all(axis=1)]
    bulk = prism_bulk(upper, np.zeros_like(upper))
    assert bulk.volume_mm3 == pytest.approx(2 / 3 * np.pi * 50**3, rel=0.02)
    assert bulk.centre_mm[2] == pytest.approx(3 / 8 * 50, rel=0.01)


def test_a_mirrored_mesh_weighs_the_same():
    vertices, faces = shapes.icosphere(4, 50.0)
    assert material(vertices, faces[:, ::-1]).volume_mm3 == pytest.approx(material(vertices, faces).volume_mm3)


@pytest.mark.parametrize(("inner_looks_in", "expected"), [(True, 50**3 - 40**3), (False, 50**3)])
def test_a_cavity_is_taken_out_and_a_nested_solid_is_not_counted_twice(inner_looks_in, expected):
    outer, faces = shapes.icosphere(5, 50.0)
    inner, inner_faces = shapes.icosphere(5, 40.0)
    inner_faces = inner_faces[:, ::-1] if inner_looks_in else inner_faces
    bulk = material(np.concatenate([outer, inner]), np.concatenate([faces, inner_faces + len(outer)]))
    assert bulk.volume_mm3 == pytest.approx(4 / 3 * np.pi * expected, rel=0.002)


def test_a_ball_within_a_hollow_ball_counts_again():
    meshes = [shapes.icosphere(4, radius) for radius in (50.0, 40.0, 20.0)]
    faces = [meshes[0][1], meshes[1][1][:, ::-1] + len(meshes[0][0]), meshes[2][1] + 2 * len(meshes[0][0])]
    bulk = material(np.concatenate([mesh[0] for mesh in meshes]), np.concatenate(faces))
    assert bulk.volume_mm3 == pytest.approx(4 / 3 * np.pi * (50**3 - 40**3 + 20**3), rel=0.01)


def test_two_pieces_apart_add_up_whichever_way_each_looks():
    one, faces = shapes.icosphere(4, 10.0)
    vertices = np.concatenate([one, one + [50.0, 0, 0]])
    pieces = solid_pieces(vertices, np.concatenate([faces, faces[:, ::-1] + len(one)]))
    assert [piece.volume_mm3 for piece in pieces] == pytest.approx([pieces[0].volume_mm3] * 2)
    assert together(pieces).centre_mm == pytest.approx([25.0, 0, 0], abs=1e-6)


def test_unwelded_triangles_hang_together_again():
    vertices, faces = shapes.icosphere(3, 10.0)
    loose, loose_faces = vertices[faces].reshape(-1, 3), np.arange(faces.size).reshape(-1, 3)
    assert len(solid_pieces(loose, welded_faces(loose, loose_faces))) == 1


def test_another_library_agrees_on_volume_and_centre():
    """trimesh, on a lumpy closed mesh in a skew place."""
    vertices, faces = shapes.icosphere(4, 30.0)
    rng = np.random.default_rng(4)
    lumpy = vertices * (1 + 0.2 * rng.random((len(vertices), 1))) @ np.linalg.qr(rng.normal(size=(3, 3)))[0] + SHIFT
    other = trimesh.Trimesh(lumpy, faces, process=False)
    bulk = material(lumpy, faces)
    assert bulk.volume_mm3 == pytest.approx(abs(other.volume), rel=1e-9)
    assert bulk.centre_mm == pytest.approx(other.center_mass, abs=1e-7)


def test_the_underside_of_an_overhang_is_not_counted():
    """A table of 4 mm on a stem-less lift: only what lies between its two faces remains of the sweep to the ground."""
    sheet, faces = shapes.sheet(100.0, 10)
    top, under = sheet + [0, 0, 9.0], sheet + [0, 0, 5.0]
    corners = np.concatenate([top[faces], under[faces[:, ::-1]]])
    feet = np.concatenate([sheet[faces], sheet[faces[:, ::-1]]])
    assert prism_bulk(corners, feet).volume_mm3 == pytest.approx(40_000.0)
