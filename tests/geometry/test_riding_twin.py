"""Riding points and flat triangles: the kernel, in every variant this machine runs, gives its twin's bits."""

import numpy as np
import pytest

from dryfit.geometry import Surface
from dryfit.geometry.binding import RidingSkin, bind
from dryfit.geometry.engine import BoundPlaces
from dryfit.geometry.kernel.calls import Compiled
from dryfit.geometry.kernel.library import load_library
from dryfit.geometry.twin.riding import CHUNK
from dryfit.geometry.twin.twin import Twin
from shapes import icosphere, sheet

LIBRARY = load_library()
pytestmark = pytest.mark.skipif(LIBRARY is None, reason="the kernel is not compiled")
LEVELS = ["base"] + (["avx2"] if LIBRARY is not None and LIBRARY.dryfit_has_avx2() else [])
POSES = {
    "at rest": lambda rest: rest,
    "turned": lambda rest: rest[:, [1, 2, 0]] + [5.0, -3.0, 1.0],
    "bent": lambda rest: rest + 4.0 * np.sin(rest[:, [1, 2, 0]] / 20.0),
    "squashed flat": lambda rest: rest * [1.0, 1.0, 0.0],
    "mirrored": lambda rest: rest * [1.0, 1.0, -1.0],
    "torn to bits": lambda rest: np.random.default_rng(5).normal(size=rest.shape) * 40.0,
    "on one spot": lambda rest: np.zeros_like(rest),
}


@pytest.fixture(params=LEVELS, scope="module")
def compiled(request):
    return Compiled(LIBRARY, request.param)


def skin_and_points(count):
    """A ball with a triangle of no area and a vertex of no face, and points bound to it."""
    vertices, faces = icosphere(3)
    vertices, faces = np.vstack([vertices, [[0.0, 0.0, 500.0]]]), np.vstack([faces, [[0, 0, 1]]])
    points = np.random.default_rng(count).normal(size=(count, 3)) * 55.0
    return vertices, RidingSkin(vertices, faces), bind(Surface(vertices, faces), points)


@pytest.mark.parametrize("count", [0, 1, 2, 9, CHUNK - 1, CHUNK, 2 * CHUNK + 3])
@pytest.mark.parametrize("pose", POSES)
def test_the_kernel_carries_points_as_its_twin_does(compiled, pose, count):
    vertices, skin, binding = skin_and_points(count)
    posed = np.ascontiguousarray(POSES[pose](vertices), dtype=np.float64)
    asked = skin._rest, binding.places, posed
    (points, wrong), (wanted, unturned) = compiled.carry(*asked), Twin().carry(*asked)
    np.testing.assert_array_equal(wrong, unturned, strict=True)
    np.testing.assert_array_equal(points, wanted, strict=True)
    if pose not in ("squashed flat", "torn to bits"):
        assert not wrong.any() or pose == "on one spot"
        assert wrong.all() == (pose == "on one spot") or not count


@pytest.mark.parametrize("pose", POSES)
def test_points_are_carried_the_same_whoever_else_is(pose):
    vertices, skin, binding = skin_and_points(300)
    posed = POSES[pose](vertices)
    whole, some = skin.carry(binding, posed), np.array([4, 17, 250])
    np.testing.assert_allclose(skin.carry(binding.taking(some), posed), whole[some], rtol=0, atol=1e-9)


def test_a_vertex_round_which_there_is_no_skin_keeps_its_shape():
    vertices, faces = sheet(10.0, 2)
    skin = RidingSkin(np.vstack([vertices, vertices[:2]]), np.vstack([faces, [[len(vertices), len(vertices), 0]]]))
    bound = BoundPlaces(np.array([len(faces)], np.int32), np.array([[0.5, 0.5, 0.0]]), np.array([[0.0, 0.0, 3.0]]))
    posed = np.vstack([vertices, vertices[:2]]) * [2.0, 1.0, 1.0]
    points, wrong = Twin().carry(skin._rest, bound, posed)
    np.testing.assert_allclose(points, [posed[len(vertices)] + [0.0, 0.0, 3.0]])
    assert not wrong.any()


@pytest.mark.parametrize("pose", POSES)
def test_the_kernel_lays_triangles_flat_as_its_twin_does(compiled, pose):
    vertices, skin, _ = skin_and_points(1)
    posed = np.ascontiguousarray(POSES[pose](vertices), dtype=np.float64)
    for mine, wanted in zip(compiled.lay_flat(posed, skin.faces), Twin().lay_flat(posed, skin.faces), strict=True):
        np.testing.assert_array_equal(mine, wanted, strict=True)


def test_a_triangle_laid_flat_by_hand(compiled):
    vertices, faces = np.array([[1.0, 1.0, 1.0], [4.0, 1.0, 1.0], [3.0, 1.0, 5.0]]), np.array([[0, 1, 2]], np.int32)
    for engine in (compiled, Twin()):
        assert [float(each[0]) for each in engine.lay_flat(vertices, faces)] == [3.0, 2.0, 4.0]
