"""Rays are taken down the tree eight together: none may notice its company, nor what the tree was asked before."""

import numpy as np
import pytest
import specimens as s

from dryfit.geometry import Surface
from dryfit.geometry.kernel.calls import Compiled
from dryfit.geometry.kernel.library import load_library

MESH = s.subdivide(s.box(8, 6, 4), 4)
SIZE = 10.0


def engines():
    library = load_library()
    assert library is not None
    return [Compiled(library, level) for level in ("base", *(["avx2"] if library.dryfit_has_avx2() else []))]


def one_eye(rng, k):
    origins = np.tile([3.0, 2.0, 40.0], (k, 1))
    return origins, rng.uniform(-6, 6, (k, 3)) - origins


def side_by_side(rng, k):
    return rng.uniform(-6, 6, (k, 3)) + [0, 0, 20], np.tile([0.1, -0.2, -1.0], (k, 1))


def one_line_many_starts(rng, k):
    along = np.array([0.3, 0.2, 1.0])
    return rng.normal(size=(k, 3)) * 1e-3 + rng.uniform(-30, 30, (k, 1)) * along, np.tile(along, (k, 1))


def every_way(rng, k):
    return rng.normal(size=(k, 3)) * 5, rng.normal(size=(k, 3)) * 10.0 ** rng.integers(-9, 9, (k, 1))


def along_the_axes(rng, k):
    return rng.integers(-4, 5, (k, 3)) * 1.0, rng.permuted(np.tile([0.0, -0.0, 1.0], (k, 1)), axis=1)


def from_far_away(rng, k):
    origins = rng.normal(size=(k, 3)) * 1e7
    return origins, rng.uniform(-4, 4, (k, 3)) - origins


KINDS = [one_eye, side_by_side, one_line_many_starts, every_way, along_the_axes, from_far_away]


def hits_alone(surface, origins, along, limits):
    """Ask seven rays at a time: too few for a bundle."""
    parts = [slice(i, i + 7) for i in range(0, len(origins), 7)]
    first = [surface.first_hit(origins[p], along[p], limits[p]) for p in parts]
    blocked = np.concatenate([surface.blocked(origins[p], along[p], limits[p]) for p in parts])
    return [
        np.concatenate(column) for column in zip(*((h.distance_mm, h.face, h.barycentric) for h in first), strict=True)
    ], blocked


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_a_ray_hits_the_same_in_any_company(kind):
    rng = np.random.default_rng(7)
    origins, along = kind(rng, 1003)
    limits = np.where(rng.random(1003) < 0.3, rng.random(1003) * 2 * SIZE, np.inf)
    for engine in engines():
        surface = Surface(*MESH, engine=engine)
        wanted, blocked = hits_alone(surface, origins, along, limits)
        for order in (np.arange(1003), rng.permutation(1003)):
            found = surface.first_hit(origins[order], along[order], limits[order])
            for column, ours in zip(wanted, (found.distance_mm, found.face, found.barycentric), strict=True):
                assert column[order].tobytes() == ours.tobytes()
            assert np.array_equal(surface.blocked(origins[order], along[order], limits[order]), blocked[order])
        assert 0 < blocked.sum() < len(blocked) or kind in (one_line_many_starts, along_the_axes)


def test_one_limit_for_all_is_a_limit_for_each():
    origins, along = one_eye(np.random.default_rng(3), 500)
    for engine in engines():
        surface = Surface(*MESH, engine=engine)
        middle = np.median(surface.first_hit(origins, along).distance_mm)
        one, each = (surface.first_hit(origins, along, limit) for limit in (middle, np.full(500, middle)))
        assert one.face.tobytes() == each.face.tobytes()
        assert 0 < (one.face < 0).sum() < 500


def test_closest_points_after_rays_and_refits_are_those_of_a_new_surface():
    vertices, faces = MESH
    points = np.random.default_rng(5).normal(size=(400, 3)) * 5
    moved = vertices * [1.5, 0.5, 1.0] + np.sin(vertices[:, ::-1])
    for engine in engines():
        fresh = Surface(moved, faces, engine=engine).closest(points)
        asked, unasked = Surface(vertices, faces, engine=engine), Surface(vertices, faces, engine=engine)
        asked.closest(points)
        unasked.blocked(points, points)
        for surface in (asked, unasked):
            found = surface.refit(moved).closest(points)
            assert found.face.tobytes() == fresh.face.tobytes()
            assert found.distance_mm.tobytes() == fresh.distance_mm.tobytes()
