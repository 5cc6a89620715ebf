"""Principal stretches against closed forms."""

import numpy as np
import pytest

from dryfit.geometry.rigid import rotation_matrix
from dryfit.geometry.stretch import StretchGauge
from shapes import icosphere, sheet


def stretches(before, after, faces):
    read = StretchGauge(before, faces).read(after)
    return read.largest, read.smallest


def test_a_rigid_motion_stretches_nothing():
    vertices, faces = icosphere(4)
    turned = vertices @ rotation_matrix([0.7, -1.1, 0.4]).T + [310.0, -50.0, 900.0]
    largest, smallest = stretches(vertices, turned, faces)
    assert np.abs(largest - 1.0).max() < 1e-11
    assert np.abs(smallest - 1.0).max() < 1e-11


def test_a_scaling_stretches_alike_in_every_direction():
    vertices, faces = icosphere(3)
    largest, smallest = stretches(vertices, 1.37 * vertices, faces)
    assert largest == pytest.approx(1.37, rel=1e-12)
    assert smallest == pytest.approx(1.37, rel=1e-12)


@pytest.mark.parametrize("shear", [0.1, 0.5, 1.0, 2.0])
def test_simple_shear(shear):
    """x += k z-height: the stretches are sqrt(1 + k^2 / 4) +- k / 2 and their product is 1 (Ogden 1984, 2.2.7)."""
    vertices, faces = sheet(100.0, 12)
    sheared = vertices + np.outer(vertices[:, 1], [shear, 0, 0])
    largest, smallest = stretches(vertices, sheared, faces)
    assert largest == pytest.approx(np.hypot(1.0, shear / 2) + shear / 2, rel=1e-12)
    assert smallest == pytest.approx(np.hypot(1.0, shear / 2) - shear / 2, rel=1e-12)


def test_pure_shear():
    vertices, faces = sheet(100.0, 12)
    largest, smallest = stretches(vertices, vertices * [1.8, 1 / 1.8, 1.0], faces)
    assert largest == pytest.approx(1.8, rel=1e-12)
    assert smallest == pytest.approx(1 / 1.8, rel=1e-12)


def tube(radius, length, around=180, along=40):
    angle, height = np.meshgrid(
        np.arange(around) * 2 * np.pi / around, np.linspace(0, length, along + 1), indexing="ij"
    )
    vertices = np.stack([radius * np.cos(angle), radius * np.sin(angle), height], axis=2).reshape(-1, 3)
    i, j = (grid.ravel() for grid in np.meshgrid(np.arange(around), np.arange(along), indexing="ij"))
    at = lambda i, j: (i % around) * (along + 1) + j  # noqa: E731
    a, b, c, d = at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)
    return vertices, np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])


def test_a_cylinder_blown_up_and_pulled():
    """Hoop stretch r'/r and axial stretch l'/l, exactly, also on the faceted tube."""
    before, faces = tube(30.0, 80.0)
    after, _ = tube(45.0, 88.0)
    largest, smallest = stretches(before, after, faces)
    assert largest == pytest.approx(1.5, rel=1e-12)
    assert smallest == pytest.approx(1.1, rel=1e-12)


def test_a_cylinder_wrung():
    """Twisted by theta over its length: simple shear r theta / l."""
    before, faces = tube(30.0, 80.0, around=720, along=80)
    theta = before[:, 2] / 80.0 * 0.8
    after = before.copy()
    after[:, 0] = before[:, 0] * np.cos(theta) - before[:, 1] * np.sin(theta)
    after[:, 1] = before[:, 0] * np.sin(theta) + before[:, 1] * np.cos(theta)
    shear = 30.0 * 0.8 / 80.0
    largest, smallest = stretches(before, after, faces)
    assert largest == pytest.approx(np.hypot(1.0, shear / 2) + shear / 2, rel=2e-3)
    assert smallest == pytest.approx(np.hypot(1.0, shear / 2) - shear / 2, rel=2e-3)


def test_a_folded_over_triangle_reads_as_its_lengths_say():
    """Turning a flat piece over is rigid: no sign appears."""
    vertices, faces = sheet(10.0, 2)
    largest, smallest = stretches(vertices, vertices * [-1.0, 1.0, 1.0], faces)
    assert largest == pytest.approx(1.0)
    assert smallest == pytest.approx(1.0)


def test_slivers_are_not_read():
    vertices = np.array([[0, 0, 0], [10, 0, 0], [5, 0.01, 0], [5, 5, 0]], float)
    largest, _ = stretches(vertices, vertices * 1.1, np.array([[0, 1, 2], [0, 1, 3]]))
    assert np.isnan(largest[0])
    assert largest[1] == pytest.approx(1.1)


def test_agrees_with_a_singular_value_decomposition():
    """Oracle: numpy's SVD of the gradient from in-plane edges to space."""
    random = np.random.default_rng(5)
    before, after = random.normal(size=(600, 3)) * 10, random.normal(size=(600, 3)) * 10
    faces = np.arange(600).reshape(-1, 3)
    largest, smallest = stretches(before, after, faces)
    for face in range(0, 200, 7):
        corners = before[faces[face]]
        edges = (corners[1:] - corners[0]).T
        plane, _ = np.linalg.qr(edges)
        moved = (after[faces[face]][1:] - after[faces[face]][0]).T
        values = np.linalg.svd(moved @ np.linalg.inv(plane.T @ edges), compute_uv=False)
        if np.isfinite(largest[face]):
            assert [largest[face], smallest[face]] == pytest.approx(values, rel=1e-8)
