"""Closest points: analytic answers, properties, other libraries."""

import numpy as np
import pytest
import specimens as s
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from dryfit.geometry import Surface

TRIANGLE = Surface([[0, 0, 0], [10, 0, 0], [0, 10, 0]], [[0, 1, 2]])
SPHERE = Surface(*s.sphere(3))
coordinate = st.floats(-300, 300, allow_nan=False, width=64)
points = arrays(np.float64, st.tuples(st.integers(1, 20), st.just(3)), elements=coordinate)


@pytest.mark.parametrize(
    ("point", "distance", "weights", "closest"),
    [
        ([2, 3, 4], 4, [0.5, 0.2, 0.3], [2, 3, 0]),
        ([5, -3, 4], 5, [0.5, 0.5, 0], [5, 0, 0]),
        ([-3, 5, -4], 5, [0.5, 0, 0.5], [0, 5, 0]),
        ([8, 8, 0], 3 * 2**0.5, [0, 0.5, 0.5], [5, 5, 0]),
        ([-3, -4, 0], 5, [1, 0, 0], [0, 0, 0]),
        ([13, -4, 0], 5, [0, 1, 0], [10, 0, 0]),
        ([-4, 13, 0], 5, [0, 0, 1], [0, 10, 0]),
    ],
)
def test_one_triangle(point, distance, weights, closest):
    near = TRIANGLE.closest([point])
    np.testing.assert_allclose(near.distance_mm, [distance])
    np.testing.assert_allclose(near.barycentric, [weights], atol=1e-15)
    np.testing.assert_allclose(near.point, [closest], atol=1e-14)
    assert near.face.tolist() == [0]


def test_features():
    vertices = [[0, 0, 0], [10, 0, 0], [10, 10, 0], [0, 10, 0]]
    surface = Surface(vertices, [[0, 1, 2], [0, 2, 3]])
    near = surface.closest([[7, 3, 1], [5, 5, 1], [0, 0, 1], [5, -1, 0]])
    assert near.feature.tolist() == [0, 1, 3, 3]
    tip = Surface([[0, 0, 1], [1, 0, 0], [0, 1, 0], [-1, -1, 0]], [[0, 1, 2], [0, 2, 3], [0, 3, 1], [1, 3, 2]])
    assert tip.closest([[0, 0, 9]]).feature.tolist() == [2]


def test_empty():
    near = SPHERE.closest(np.zeros((0, 3)))
    assert near.distance_mm.shape == (0,)
    assert near.barycentric.shape == near.point.shape == (0, 3)
    assert SPHERE.clearance_mm([]).shape == SPHERE.winding_number([]).shape == (0,)


def test_ties_go_to_the_lowest_face():
    mesh = s.box()
    order = np.random.default_rng(1).permutation(len(mesh[1]))
    doubled = np.vstack([mesh[1], mesh[1][order]])
    near = Surface(mesh[0], doubled).closest([[0, 0, 0], *mesh[0]])
    assert (near.face < len(mesh[1])).all()
    assert near.face[0] == Surface(*mesh).closest([[0, 0, 0]]).face[0]


@pytest.mark.parametrize("scale", [1e-6, 1.0, 1e6])
def test_box_distances(scale):
    mesh = s.subdivide(s.box(2, 4, 6), 3)
    p = np.random.default_rng(0).uniform(-6, 6, (5000, 3))
    gap = np.abs(p) - [1, 2, 3]
    expected = np.linalg.norm(np.maximum(gap, 0), axis=1) + np.minimum(gap.max(axis=1), 0)
    clearance = Surface(mesh[0] * scale, mesh[1]).clearance_mm(p * scale)
    np.testing.assert_allclose(clearance / scale, expected, atol=1e-12)


@pytest.mark.parametrize("away", [0.0, 1e3, 1e6])
def test_far_from_the_origin(away):
    mesh, p = s.torus(), s.near(s.torus(), 2000, 10)
    here = Surface(*mesh).closest(p)
    there = Surface(mesh[0] + away, mesh[1]).closest(p + away)
    np.testing.assert_allclose(there.distance_mm, here.distance_mm, atol=1e-15 * max(away, 1) * 10 + 1e-12)


@settings(max_examples=60, deadline=None)
@given(points, points)
def test_distance_changes_no_faster_than_the_point_moves(a, b):
    count = min(len(a), len(b))
    near_a, near_b = SPHERE.closest(a[:count]), SPHERE.closest(b[:count])
    moved = np.linalg.norm(a[:count] - b[:count], axis=1)
    assert (np.abs(near_a.distance_mm - near_b.distance_mm) <= moved + 1e-9).all()


@settings(max_examples=60, deadline=None)
@given(points)
def test_no_vertex_is_nearer(a):
    to_vertices = np.linalg.norm(a[:, None] - SPHERE.vertices_mm, axis=2).min(axis=1)
    near = SPHERE.closest(a)
    assert (near.distance_mm <= to_vertices + 1e-9).all()
    np.testing.assert_allclose(np.linalg.norm(near.point - a, axis=1), near.distance_mm, atol=1e-9)
    np.testing.assert_allclose(near.barycentric.sum(axis=1), 1)
    assert (near.barycentric >= 0).all()


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**31), st.floats(-500, 500))
def test_rigid_motion_changes_nothing(seed, shift):
    mesh, p, turn = s.torus(), s.near(s.torus(), 200, 10), s.turning(seed)
    moved = Surface(mesh[0] @ turn.T + shift, mesh[1])
    here, there = Surface(*mesh).clearance_mm(p), moved.clearance_mm(p @ turn.T + shift)
    np.testing.assert_allclose(there, here, atol=1e-9)


def test_order_and_company_change_nothing(monkeypatch):
    p = s.near(s.sphere(), 30000, 20)
    shuffled = np.random.default_rng(0).permutation(len(p))
    surface = Surface(*s.sphere(4))
    near = surface.closest(p)
    for threads in ("1", "3"):
        monkeypatch.setenv("DRYFIT_THREADS", threads)
        again, few = surface.closest(p[shuffled]), surface.closest(p[:7])
        for name in ("distance_mm", "face", "barycentric", "point", "feature"):
            assert (getattr(again, name) == getattr(near, name)[shuffled]).all()
            assert (getattr(few, name) == getattr(near, name)[:7]).all()


def test_refit_is_a_new_surface():
    vertices, faces = s.cap(0.35)
    moved = vertices * [1.1, 0.7, 1.3] + np.sin(vertices / 9) * 4
    p = s.near((moved, faces), 3000, 5)
    surface, fresh = Surface(vertices, faces), Surface(moved, faces)
    surface.clearance_mm(p)
    assert surface.refit(moved) is surface
    np.testing.assert_array_equal(surface.clearance_mm(p), fresh.clearance_mm(p))
    np.testing.assert_array_equal(surface.closest(p).face, fresh.closest(p).face)
    np.testing.assert_allclose(surface.winding_number(p), fresh.winding_number(p), atol=0.03)
    np.testing.assert_array_equal(surface.vertex_normals, fresh.vertex_normals)


def test_refit_that_tears_a_weld_apart():
    one, other = s.box(10, 10, 10), s.box(10, 10, 10)
    touching = s.join(one, (other[0] + [10, 0, 0], other[1]))
    surface = Surface(*touching)
    surface.clearance_mm([[0, 0, 0]])
    apart = np.vstack([one[0], other[0] + [30, 0, 0]])
    surface.refit(apart)
    np.testing.assert_allclose(surface.clearance_mm([[10, 0, 0], [30, 0, 0]]), [5, -5])


def specimens():
    yield "sphere", s.sphere()
    yield "torus", s.torus()
    yield "wedge", s.subdivide(s.wedge(), 3)
    yield "unwelded box", s.unweld(s.box())
    yield "mask", s.cap(0.35)
    yield "patch", s.cap(0.08)
    yield "dropped", s.drop(s.torus(), 0.01)
    yield "flipped", s.flip(s.torus(), 0.01)
    yield "slivers", s.with_slivers(s.sphere())


@pytest.mark.parametrize(("name", "mesh"), list(specimens()))
def test_against_libraries(name, mesh):
    p = np.concatenate([s.near(mesh, 1000, spread) for spread in (0.01, 3, 100)])
    surface = Surface(*mesh)
    distance = surface.closest(p).distance_mm
    area = np.linalg.norm(np.cross(*(mesh[0][mesh[1][:, [1, 2]]] - mesh[0][mesh[1][:, :1]]).swapaxes(0, 1)), axis=1)
    sound = trimesh.Trimesh(mesh[0], mesh[1][area > 1e-9], process=False)
    theirs = trimesh.proximity.closest_point_naive(sound, p[::30])[1]
    np.testing.assert_allclose(distance[::30], theirs, atol=1e-6)


def test_against_libigl():
    igl = pytest.importorskip("igl", reason="libigl is not installed")
    for _, mesh in specimens():
        p = np.concatenate([s.near(mesh, 1000, spread) for spread in (0.01, 3, 100)])
        squared, _, _ = igl.point_mesh_squared_distance(p, mesh[0], mesh[1].astype(np.int64))[:3]
        np.testing.assert_allclose(Surface(*mesh).closest(p).distance_mm, np.sqrt(squared), atol=1e-7)


def test_against_open3d():
    o3d = pytest.importorskip("open3d", reason="Open3D is not installed")
    for _, mesh in specimens():
        p = s.near(mesh, 1000, 3)
        scene = o3d.t.geometry.RaycastingScene()
        scene.add_triangles(mesh[0].astype(np.float32), mesh[1].astype(np.uint32))
        theirs = scene.compute_distance(p.astype(np.float32)).numpy()
        np.testing.assert_allclose(Surface(*mesh).closest(p).distance_mm, theirs, atol=1e-3)


def test_against_fcpw():
    fcpw = pytest.importorskip("fcpw", reason="FCPW is not installed")
    for name, mesh in specimens():
        p = np.concatenate([s.near(mesh, 1000, spread) for spread in (0.01, 3, 100)])
        scene, found = fcpw.scene_3D(), fcpw.interaction_3D_list()
        scene.set_object_count(1)
        scene.set_object_vertices(np.asfortranarray(mesh[0], np.float32), 0)
        scene.set_object_triangles(np.asfortranarray(mesh[1], np.int32), 0)
        scene.build(fcpw.aggregate_type.bvh_surface_area, True, False)
        scene.find_closest_points(np.asfortranarray(p, np.float32), np.full(len(p), 3e38, np.float32), found)
        theirs = np.array([one.d for one in found])
        np.testing.assert_allclose(Surface(*mesh).closest(p).distance_mm, theirs, atol=2e-4, err_msg=name)


@pytest.mark.parametrize("mesh", [s.sphere(2), s.cap(0.35, 3), s.drop(s.torus(), 0.02)])
def test_clearance_and_closest_at_once_are_those_asked_apart(mesh):
    surface, asked = Surface(*mesh), np.random.default_rng(4).normal(size=(200, 3)) * np.ptp(mesh[0], axis=0)
    clearance_mm, near = surface.clearance_and_closest(asked)
    np.testing.assert_array_equal(clearance_mm, surface.clearance_mm(asked))
    again = surface.closest(asked)
    for mine, wanted in zip(vars(near).values(), vars(again).values(), strict=True):
        np.testing.assert_array_equal(mine, wanted)
