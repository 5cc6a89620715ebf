"""The compiled kernel, in every variant this machine runs, against its numpy twin."""

import numpy as np
import pytest
import specimens as s

from dryfit.geometry import Surface
from dryfit.geometry.kernel.calls import Compiled
from dryfit.geometry.kernel.library import load_library
from dryfit.geometry.twin.twin import Twin

LIBRARY = load_library()
pytestmark = pytest.mark.skipif(LIBRARY is None, reason="the kernel is not compiled")
LEVELS = ["base"] + (["avx2"] if LIBRARY is not None and LIBRARY.dryfit_has_avx2() else [])

SPECIMENS = {
    "sphere": s.sphere(),
    "torus flipped": s.flip(s.torus(), 0.01),
    "wedge": s.subdivide(s.wedge(), 3),
    "box unwelded": s.unweld(s.box()),
    "mask": s.cap(0.35, 3),
    "dropped": s.drop(s.torus(), 0.02),
    "slivers": s.with_slivers(s.sphere(2)),
    "doubled": (s.box()[0], np.vstack([s.box()[1]] * 2)),
    "needles": (s.sphere()[0] * [1, 1, 1e-5], s.sphere()[1]),
    "three at an edge": (
        np.array([[0, 0, 0], [0, 0, 9], [9, 0, 0], [0, 9, 0], [-9, -9, 0.0]]),
        np.array([[0, 1, 2], [0, 1, 3], [0, 1, 4]]),
    ),
    "moebius": None,
}


def moebius(count=30):
    angle = np.arange(count) * 2 * np.pi / count
    vertices = []
    for a in angle:
        across = np.array([np.cos(a / 2) * np.cos(a), np.cos(a / 2) * np.sin(a), np.sin(a / 2)]) * 8
        middle = np.array([np.cos(a), np.sin(a), 0]) * 30
        vertices += [middle - across, middle + across]
    faces = [[2 * i, 2 * i + 1, 2 * i + 2] for i in range(count - 1)]
    faces += [[2 * i + 1, 2 * i + 3, 2 * i + 2] for i in range(count - 1)]
    last = 2 * count - 2
    return np.array(vertices), np.array([*faces, [last, last + 1, 1], [last + 1, 0, 1]])


SPECIMENS["moebius"] = moebius()


@pytest.fixture(params=LEVELS, scope="module")
def compiled(request):
    return Compiled(LIBRARY, request.param)


@pytest.fixture(params=SPECIMENS)
def pair(request, compiled):
    mesh = SPECIMENS[request.param]
    return mesh, Surface(*mesh, engine=compiled), Surface(*mesh, engine=Twin())


def queries(mesh):
    size = np.ptp(mesh[0], axis=0).max()
    corners = mesh[0][mesh[1]]
    return np.concatenate(
        [
            *(s.near(mesh, 300, size * spread) for spread in (1e-4, 0.05, 2)),
            corners.mean(axis=1)[:300],
            corners[:300, 0],
            (corners[:300, 0] + corners[:300, 1]) / 2,
        ]
    )


def test_closest(pair):
    mesh, fast, slow = pair
    points = queries(mesh)
    a, b = fast.closest(points), slow.closest(points)
    size = np.abs(mesh[0]).max()
    np.testing.assert_allclose(a.distance_mm, b.distance_mm, atol=1e-13 * size)
    np.testing.assert_allclose(np.linalg.norm(a.point - points, axis=1), a.distance_mm, atol=1e-12 * size)
    picked = np.einsum("ki,kij->kj", a.barycentric, fast.vertices_mm[fast.faces[a.face]])
    np.testing.assert_allclose(picked, a.point, atol=1e-12 * size)


def test_clearance(pair):
    mesh, fast, slow = pair
    points = queries(mesh)
    a, b = fast.clearance_mm(points), slow.clearance_mm(points)
    settled = np.abs(np.nan_to_num(a, nan=1)) > 1e-9
    unclear = np.abs(np.abs(slow.winding_number(points)) - 0.5) < 0.02
    np.testing.assert_allclose(a[settled & ~unclear], b[settled & ~unclear], atol=1e-9)


def test_rays(pair):
    mesh, fast, slow = pair
    rng, points = np.random.default_rng(0), s.near(mesh, 1500, np.ptp(mesh[0], axis=0).max() / 20)
    origins = rng.normal(size=points.shape) * np.ptp(mesh[0], axis=0).max()
    along = np.where(rng.random((len(points), 1)) < 0.1, np.eye(3)[rng.integers(0, 3, len(points))], points - origins)
    limit = np.where(rng.random(len(points)) < 0.5, np.inf, np.linalg.norm(points - origins, axis=1))
    a, b = fast.first_hit(origins, along, limit), slow.first_hit(origins, along, limit)
    np.testing.assert_allclose(a.distance_mm, b.distance_mm, rtol=1e-9)
    np.testing.assert_array_equal(fast.blocked(origins, along, limit), a.face >= 0)


def test_crossings(pair):
    mesh, fast, slow = pair
    cutter = s.sphere(2, np.ptp(mesh[0], axis=0).max() / 3)
    cutter = (cutter[0] + mesh[0][mesh[1][0, 0]] + [0.1, 0.2, 0.3], cutter[1])
    found = fast.crossings(Surface(*cutter, engine=fast.engine))
    np.testing.assert_array_equal(found, slow.crossings(Surface(*cutter, engine=slow.engine)))
    np.testing.assert_array_equal(fast.crossings(fast), slow.crossings(slow))


def test_winding(pair):
    mesh, fast, slow = pair
    points = s.near(mesh, 300, np.ptp(mesh[0], axis=0).max() / 4)
    np.testing.assert_allclose(fast.winding_number(points), slow.winding_number(points), atol=0.03)


def test_topology(pair):
    _, fast, slow = pair
    a, b = fast.repaired, slow.repaired
    for name in ("label", "corners", "neighbour", "doubled"):
        np.testing.assert_array_equal(getattr(a.joints, name), getattr(b.joints, name))
    for name in ("piece", "turn", "seam", "inside_out", "piece_count"):
        np.testing.assert_array_equal(getattr(a, name), getattr(b, name))
    np.testing.assert_allclose(fast.vertex_normals, slow.vertex_normals, atol=1e-12)


def test_refit(pair):
    mesh, fast, slow = pair
    points = queries(mesh)
    moved = mesh[0] * [1.2, 0.8, 1.1] + 3
    a, b = fast.refit(moved).closest(points), slow.refit(moved).closest(points)
    np.testing.assert_allclose(a.distance_mm, b.distance_mm, atol=1e-11)
