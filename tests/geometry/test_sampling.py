"""Samples: areas add up, integrals are right, the same points every time, pierced points lie on both meshes."""

import numpy as np
import pytest

from dryfit.geometry import Surface
from dryfit.geometry.areas import areas_mm2
from dryfit.geometry.contact.meeting import meeting_points
from dryfit.geometry.sampling import sample_surface
from shapes import icosphere, sheet


def test_areas_add_up_and_samples_are_the_same_twice():
    vertices, faces = icosphere(3)
    one, two = (sample_surface(vertices, faces, 1.5) for _ in range(2))
    assert one.area_mm2.sum() == pytest.approx(areas_mm2(vertices[faces]).sum())
    assert np.array_equal(one.barycentric, two.barycentric)
    assert (one.barycentric >= 0).all()
    assert np.allclose(one.barycentric.sum(axis=1), 1.0)


def test_points_follow_a_pose():
    vertices, faces = sheet(steps=5)
    samples = sample_surface(vertices, faces, 2.0)
    assert np.allclose(samples.points(vertices * 2.0, faces), 2.0 * samples.points(vertices, faces))


def test_area_of_a_disc_on_two_large_triangles():
    """The R2 sequence spreads evenly inside a triangle: a disc's area comes out within 1 %."""
    vertices = np.array([[-50.0, -50, 0], [50, -50, 0], [50, 50, 0], [-50, 50, 0]])
    faces = np.array([[0, 1, 2], [0, 2, 3]])
    samples = sample_surface(vertices, faces, 0.5)
    inside = np.linalg.norm(samples.points(vertices, faces), axis=1) < 20.0
    assert samples.area_mm2[inside].sum() == pytest.approx(np.pi * 400.0, rel=0.01)


def test_meeting_points_of_two_spheres_lie_on_their_circle():
    vertices, faces = icosphere(4)
    apart = np.array([110.0, 37.3, 21.7])
    other = vertices + apart
    pairs = np.asarray(Surface(vertices, faces).crossings(Surface(other, faces)))
    points, rows = meeting_points(vertices, faces, other, faces, pairs)
    assert (np.bincount(rows, minlength=len(pairs)) == 2).all(), "two triangles meet along one line with two ends"
    assert np.allclose(points @ apart, apart @ apart / 2, atol=0.5 * np.linalg.norm(apart))
    assert np.allclose(np.linalg.norm(points, axis=1), 100.0, atol=0.3)
