"""Clearance against an independent geometry library.

Oracle: trimesh (https://trimesh.org), whose ``closest_point`` and ``contains`` share no code with ours.
"""

import numpy as np
import pytest

from dryfit.geometry import Surface
from shapes import icosphere, torus

trimesh = pytest.importorskip("trimesh")


@pytest.mark.parametrize("shape", [icosphere(3, 80.0), torus(60.0, 20.0, 48, 24)], ids=["sphere", "torus"])
def test_distance_and_sign_agree(shape):
    vertices, faces = shape
    points = np.random.default_rng(5).uniform(-110, 110, (1500, 3))
    oracle = trimesh.Trimesh(vertices, faces, process=False)
    _, distance_mm, _ = trimesh.proximity.closest_point(oracle, points)
    outside = np.where(oracle.contains(points), -1.0, 1.0)
    clearance_mm = Surface(vertices, faces).clearance_mm(points)
    np.testing.assert_allclose(np.abs(clearance_mm), distance_mm, atol=1e-9)
    assert (np.sign(clearance_mm) == outside)[distance_mm > 1e-9].all()


def test_concentric_spheres_stand_a_millimetre_apart():
    """Sphere r = 50 in a sphere r = 51: +1.000 everywhere; the mesh's chord error is bounded by the closed form.

    Chord error of a circle of n chords is r (1 - cos(pi / n)): 0.060 mm for r = 50, n = 64 (elementary geometry).
    """
    assert 50 * (1 - np.cos(np.pi / 64)) == pytest.approx(0.060, abs=5e-4)
    vertices, faces = icosphere(5, 50.0)
    outer = icosphere(6, 51.0)[0]
    clearance_mm = Surface(vertices, faces).clearance_mm(outer)
    edges = 2 * np.pi / (np.linalg.norm(vertices[faces[:, 0]] - vertices[faces[:, 1]], axis=1).max() / 50)
    chord_mm = 50 * (1 - np.cos(np.pi / edges)) * 4 / 3
    assert clearance_mm.min() >= 1.0 - 1e-9
    assert clearance_mm.max() <= 1.0 + chord_mm
    assert np.sqrt((clearance_mm**2).mean()) == pytest.approx(1.0, abs=0.02)
