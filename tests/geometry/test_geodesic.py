"""Distance along the surface, within two percent in the band."""

import numpy as np
import pytest
import specimens as s

from dryfit.geometry import distance_along
from dryfit.geometry.twin.twin import Twin


def grid(spacing=1.0, half=30, jitter=0.0, seed=0):
    """A flat triangulated square; jitter makes obtuse corners."""
    count = int(2 * half / spacing) + 1
    x, y = np.meshgrid(np.arange(count) * spacing - half, np.arange(count) * spacing - half, indexing="ij")
    vertices = np.stack([x.ravel(), y.ravel(), np.zeros(count**2)], axis=1)
    inner = (np.abs(vertices[:, :2]).max(axis=1) < half - 1e-9) & (np.abs(vertices[:, 0]) > 1e-9)
    vertices[inner, :2] += np.random.default_rng(seed).uniform(-jitter, jitter, (int(inner.sum()), 2)) * spacing
    cell = (np.arange(count - 1)[:, None] * count + np.arange(count - 1)).ravel()
    lower = np.stack([cell, cell + count, cell + count + 1], axis=1)
    upper = np.stack([cell, cell + count + 1, cell + 1], axis=1)
    return vertices, np.vstack([lower, upper])


def worst(distance, expected, beyond):
    reached = np.isfinite(distance) & (expected > beyond)
    distance, expected = distance[reached], expected[reached]
    return np.abs(distance - expected).max() / 25, np.abs(distance / expected - 1).mean()


@pytest.mark.parametrize("jitter", [0.0, 0.2, 0.35])
def test_flat_from_a_line(jitter):
    vertices, faces = grid(jitter=jitter)
    line = np.flatnonzero(np.abs(vertices[:, 0]) < 1e-9)
    distance, source = distance_along(vertices, faces, line)
    largest, mean = worst(distance, np.abs(vertices[:, 0]), 1)
    assert largest < 0.02
    assert mean < 0.015
    assert (np.isfinite(distance) == (source >= 0)).all()


@pytest.mark.parametrize("jitter", [0.0, 0.2, 0.35])
def test_flat_from_a_point(jitter):
    vertices, faces = grid(jitter=jitter)
    middle = int(np.argmin(np.linalg.norm(vertices, axis=1)))
    distance, _ = distance_along(vertices, faces, [middle])
    largest, mean = worst(distance, np.linalg.norm(vertices - vertices[middle], axis=1), 1)
    assert largest < 0.02
    assert mean < 0.015


@pytest.mark.parametrize("where", [0, 7, 200])
def test_sphere_from_a_point(where):
    vertices, faces = s.sphere(6, 70)
    distance, _ = distance_along(vertices, faces, [where])
    expected = 70 * np.arccos(np.clip(vertices @ vertices[where] / 70**2, -1, 1))
    largest, mean = worst(distance, expected, 1)
    assert largest < 0.02
    assert mean < 0.015


@pytest.mark.parametrize("radius", [15.0, 30.0])
def test_flat_from_a_circle(radius):
    """A rim: both ways from a closed curve that the mesh follows."""
    turns, rings = 180, np.arange(0, 26)
    angle = np.arange(turns) * 2 * np.pi / turns
    radii = np.concatenate([radius - rings[rings < radius - 2][::-1], radius + rings[1:]])
    vertices = np.concatenate([np.stack([r * np.cos(angle), r * np.sin(angle), 0 * angle], axis=1) for r in radii])
    start = (np.arange(len(radii) - 1)[:, None] * turns + np.arange(turns)).ravel()
    after = (np.arange(len(radii) - 1)[:, None] * turns + (np.arange(turns) + 1) % turns).ravel()
    faces = np.vstack(
        [np.stack([start, after, start + turns], axis=1), np.stack([after, after + turns, start + turns], axis=1)]
    )
    rim = np.flatnonzero(np.abs(np.linalg.norm(vertices, axis=1) - radius) < 1e-9)
    distance, _ = distance_along(vertices, faces, rim)
    largest, mean = worst(distance, np.abs(np.linalg.norm(vertices, axis=1) - radius), 1)
    assert largest < 0.02
    assert mean < 0.015


def test_head_start_and_limit():
    vertices, faces = grid()
    ends = [0, len(vertices) - 1]
    distance, source = distance_along(vertices, faces, ends, limit_mm=12.0, source_distance_mm=[0, 5])
    assert distance[ends].tolist() == [0, 5]
    assert np.nanmax(distance[np.isfinite(distance)]) <= 12
    assert set(np.unique(source)) == {-1, 0, 1}
    assert np.isfinite(distance[source == 1]).all()
    near_second = np.linalg.norm(vertices[source == 1] - vertices[-1], axis=1)
    assert near_second.max() <= 7.001


def test_unwelded_meshes_do_not_stop_it():
    mesh = grid()
    torn = s.unweld(mesh)
    whole, _ = distance_along(*mesh, [0], limit_mm=20)
    apart, _ = distance_along(*torn, [int(np.argmin(np.linalg.norm(torn[0] - mesh[0][0], axis=1)))], limit_mm=20)
    np.testing.assert_allclose(apart, whole[mesh[1].ravel()])


def test_nothing_to_start_from():
    distance, source = distance_along(*s.box(), [])
    assert np.isinf(distance).all()
    assert (source == -1).all()


@pytest.mark.parametrize("mesh", [s.sphere(4, 30), grid(2.0, jitter=0.35), s.drop(s.torus(30, 10), 0.02), s.wedge()])
def test_the_twin_agrees(mesh):
    sources = np.unique(mesh[1][:5])
    fast, where = distance_along(*mesh, sources, 40.0)
    slow, twin_where = distance_along(*mesh, sources, 40.0, engine=Twin())
    np.testing.assert_allclose(fast, slow, atol=1e-9)
    assert (where == twin_where).mean() > 0.98
