"""Rays: analytic answers, watertightness, other libraries."""

import numpy as np
import pytest
import specimens as s

from dryfit.geometry import Surface

SQUARE = Surface([[0, 0, 0], [10, 0, 0], [10, 10, 0], [0, 10, 0]], [[0, 1, 2], [0, 2, 3]])


def rays_about(mesh, count, seed=0):
    rng = np.random.default_rng(seed)
    size = np.ptp(mesh[0], axis=0).max()
    origins = rng.normal(size=(count, 3)) * size
    return origins, s.near(mesh, count, size / 20, seed) - origins


def test_distance_is_in_mm_whatever_the_direction():
    hits = SQUARE.first_hit([[7, 3, 5]] * 3, [[0, 0, -1], [0, 0, -100], [0, 0, 1]])
    assert hits.distance_mm.tolist() == [5, 5, np.inf]
    assert hits.face.tolist() == [0, 0, -1]
    np.testing.assert_allclose(hits.barycentric, [[0.3, 0.4, 0.3], [0.3, 0.4, 0.3], [0, 0, 0]])


def test_both_sides_and_the_limit():
    origins, along = [[7, 3, -5], [7, 3, 5], [7, 3, 5]], [[0, 0, 1], [0, 0, -1], [0, 0, -1]]
    assert SQUARE.blocked(origins, along, [np.inf, 5.0, 4.999]).tolist() == [True, True, False]
    assert SQUARE.blocked(origins, along, 4.0).tolist() == [False] * 3
    assert SQUARE.first_hit(origins, along, 5.0).face.tolist() == [0, 0, 0]


def test_a_hit_at_the_origin_counts():
    assert SQUARE.first_hit([[7, 3, 0]], [[0, 0, 1]]).distance_mm.tolist() == [0]
    assert SQUARE.blocked([[7, 3, 0]], [[0, 0, 1]]).all()
    assert not SQUARE.blocked([[7, 3, 1e-9]], [[0, 0, 1]]).any()


def test_empty():
    assert SQUARE.first_hit(np.zeros((0, 3)), np.zeros((0, 3))).face.shape == (0,)
    assert SQUARE.blocked([], []).shape == (0,)


@pytest.mark.parametrize("scale", [1e-6, 1.0, 1e6])
@pytest.mark.parametrize("unwelded", [False, True])
def test_nothing_slips_through_edges_and_vertices(scale, unwelded):
    vertices, faces = s.sphere(3)
    mesh = (vertices * scale, faces)
    surface = Surface(*(s.unweld(mesh) if unwelded else mesh))
    ends = [faces[:, [0, 1]], faces[:, [1, 2]]]
    share = np.random.default_rng(0).random((len(faces), 1))
    targets = np.vstack([vertices, *(vertices[e[:, 0]] * share + vertices[e[:, 1]] * (1 - share) for e in ends)])
    for origin in ([0, 0, 0], [1, 2, 3], [0, 0, 30]):
        origins = np.tile(np.array(origin, float), (len(targets), 1))
        hits = surface.first_hit(origins * scale, targets - origins)
        np.testing.assert_allclose(hits.distance_mm / scale, np.linalg.norm(targets - origins, axis=1), rtol=1e-9)


def test_axis_parallel_rays_on_a_grid():
    mesh = s.subdivide(s.box(8, 8, 8), 3)
    surface = Surface(*mesh)
    side = np.linspace(-4, 4, 33)
    x, y = (part.ravel() for part in np.meshgrid(side, side))
    for axis in range(3):
        origins = np.insert(np.stack([x, y], axis=1), axis, 20.0, axis=1)
        along = np.zeros_like(origins)
        along[:, axis] = -1
        inner = np.abs(np.delete(origins, axis, axis=1)).max(axis=1) < 4
        assert (surface.first_hit(origins, along).distance_mm[inner] == 16).all()


def test_threads_and_order_change_nothing(monkeypatch):
    mesh = s.torus()
    surface, (origins, along) = Surface(*mesh), rays_about(mesh, 30000)
    hits = surface.first_hit(origins, along)
    shuffled = np.random.default_rng(0).permutation(len(origins))
    monkeypatch.setenv("DRYFIT_THREADS", "3")
    again = surface.first_hit(origins[shuffled], along[shuffled])
    for name in ("distance_mm", "face", "barycentric"):
        assert (getattr(again, name) == getattr(hits, name)[shuffled]).all()
    assert (surface.blocked(origins, along) == (hits.face >= 0)).all()


def specimens():
    return [s.sphere(), s.torus(), s.subdivide(s.wedge(), 3), s.cap(0.35), s.with_slivers(s.sphere())]


def test_against_embree():
    embree = pytest.importorskip("trimesh.ray.ray_pyembree", reason="embreex is not installed")
    pytest.importorskip("embreex", reason="embreex is not installed")
    import trimesh

    for mesh in specimens():
        caster = embree.RayMeshIntersector(trimesh.Trimesh(*mesh, process=False))
        origins, along = rays_about(mesh, 5000)
        along /= np.linalg.norm(along, axis=1)[:, None]
        face = caster.intersects_first(origins, along)
        hits = Surface(*mesh).first_hit(origins, along)
        assert ((face >= 0) != (hits.face >= 0)).mean() < 1e-3
        both = (face >= 0) & (hits.face >= 0)
        assert (face[both] == hits.face[both]).mean() > 0.999


def test_against_trimesh():
    pytest.importorskip("rtree", reason="rtree is not installed")
    import trimesh

    mesh = s.torus()
    caster = trimesh.ray.ray_triangle.RayMeshIntersector(trimesh.Trimesh(*mesh, process=False))
    origins, along = rays_about(mesh, 200)
    assert (caster.intersects_any(origins, along) == Surface(*mesh).blocked(origins, along)).all()


def test_against_fcpw():
    fcpw = pytest.importorskip("fcpw", reason="FCPW is not installed")
    for mesh in specimens():
        scene, found = fcpw.scene_3D(), fcpw.interaction_3D_list()
        scene.set_object_count(1)
        scene.set_object_vertices(np.asfortranarray(mesh[0], np.float32), 0)
        scene.set_object_triangles(np.asfortranarray(mesh[1], np.int32), 0)
        scene.build(fcpw.aggregate_type.bvh_surface_area, True, False)
        origins, along = rays_about(mesh, 5000)
        along /= np.linalg.norm(along, axis=1)[:, None]
        rays = (np.asfortranarray(origins, np.float32), np.asfortranarray(along, np.float32))
        scene.intersect(*rays, np.full(len(origins), 3e38, np.float32), found)
        theirs = np.array([one.d if one.primitive_index >= 0 else np.inf for one in found])
        ours = Surface(*mesh).first_hit(origins, along).distance_mm
        both = np.isfinite(theirs) & np.isfinite(ours)
        assert both.mean() > 0.5
        assert (np.isfinite(theirs) != np.isfinite(ours)).mean() < 1e-3
        assert (np.abs(theirs[both] - ours[both]) < 1e-2).mean() > 0.998  # the rest graze an edge in single precision
