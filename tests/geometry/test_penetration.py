"""Depth below surfaces against spheres, and a cutting that keeps the way it looks."""

import numpy as np
import pytest

from dryfit.geometry import Surface
from dryfit.geometry.contact.penetration import depths_below_mm
from shapes import icosphere, sheet


def test_depth_in_a_sphere_is_the_way_to_its_skin():
    rng = np.random.default_rng(1)
    points = rng.normal(size=(500, 3))
    points *= (rng.uniform(0, 150, 500) / np.linalg.norm(points, axis=1))[:, None]
    depth, _ = depths_below_mm(Surface(*icosphere(5)), points)
    assert np.allclose(depth, np.maximum(100.0 - np.linalg.norm(points, axis=1), 0.0), atol=0.06)
    assert (depth[np.linalg.norm(points, axis=1) > 100.1] == 0.0).all()


def test_layer_has_nothing_behind_it():
    vertices, faces = sheet(40.0, 20)
    heights = np.array([-0.5, -2.9, -3.5, -20.0, 1.0])
    points = np.stack([np.zeros(5), np.zeros(5), heights], axis=1)
    depth, face = depths_below_mm(Surface(vertices, faces), points, np.full(len(vertices), 3.0))
    assert depth == pytest.approx([0.5, 2.9, 0.0, 0.0, 0.0])
    assert len(face) == 5


def test_no_points_no_depth():
    depth, face = depths_below_mm(Surface(*icosphere(1)), np.zeros((0, 3)))
    assert depth.shape == face.shape == (0,)


def test_cutting_keeps_the_way_it_looks():
    """A sphere looking inward, with a hole: as a surface of its own it would be turned outside out."""
    vertices, faces = icosphere(4)
    bowl = faces[vertices[faces].mean(axis=1)[:, 2] < 80.0][:, ::-1]
    middle = [[0.0, 0.0, -60.0]]
    assert Surface(vertices, bowl).clearance_mm(middle)[0] < 0.0
    cutting = Surface(vertices, bowl, facing_out=True)
    assert cutting.clearance_mm(middle)[0] > 0.0
    assert cutting.refit(vertices * 1.5).clearance_mm(middle)[0] == pytest.approx(90.0, abs=0.2)


def test_side_by_the_nearest_face_agrees_where_nothing_overlaps():
    points = np.random.default_rng(2).uniform(-140, 140, (400, 3))
    surface = Surface(*icosphere(4))
    clearance_mm, near = surface.clearance_by_nearest(points)
    assert np.array_equal(surface.clearance_mm(points), clearance_mm)
    assert np.array_equal(surface.closest(points).face, near.face)
