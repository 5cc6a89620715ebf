"""Points that ride a surface: exact under rigid motion, close and smooth under bending."""

import numpy as np
import pytest

from dryfit.geometry import Surface
from dryfit.geometry.binding import Rider, RidingSkin, bind, nearest_rotations
from dryfit.geometry.rigid import RigidMotion, rotation_matrix
from shapes import icosphere, sheet

RNG = np.random.default_rng(3)
MOTION = RigidMotion(rotation_matrix(np.array([0.4, -1.1, 0.7])), np.array([12.0, -30.0, 5.0]))


def test_rigid_motion_is_ridden_exactly():
    vertices, faces = icosphere(3)
    points = RNG.normal(size=(200, 3)) * 70
    binding = bind(Surface(vertices, faces), points)
    ridden = RidingSkin(vertices, faces).carry(binding, MOTION.apply(vertices))
    assert np.abs(ridden - MOTION.apply(points)).max() < 1e-9


def test_piece_of_the_skin_gives_what_the_whole_gives():
    vertices, faces = icosphere(3)
    bent = vertices + 4.0 * np.sin(vertices[:, [1, 2, 0]] / 30.0)
    binding = bind(Surface(vertices, faces), vertices[:40] * 1.05)
    whole = RidingSkin(vertices, faces).carry(binding, bent)
    rider = Rider.on(vertices, faces, binding)
    assert len(rider.vertex_ids) < len(vertices)
    assert np.allclose(rider.carried(bent[rider.vertex_ids]), whole, atol=1e-12)


def plainly_carried(vertices, faces, binding, posed):
    """The same by the book: inverses, one triangle and one point after the other, singular values for the turn."""
    gradients, weights = np.zeros((len(vertices), 3, 3)), np.zeros(len(vertices))
    for face in faces:
        frames = []
        for places in (vertices, posed):
            one, other = places[face[1]] - places[face[0]], places[face[2]] - places[face[0]]
            normal = np.cross(one, other)
            frames.append(np.column_stack([one, other, normal / np.sqrt(np.linalg.norm(normal))]))
        area = 0.5 * np.linalg.norm(np.cross(*frames[0].T[:2]))
        gradients[face] += area * frames[1] @ np.linalg.inv(frames[0])
        weights[face] += area
    gradients /= weights[:, None, None]
    ridden = []
    for face, share, offset in zip(binding.face, binding.barycentric, binding.offset_mm, strict=True):
        left, _, right = np.linalg.svd(np.einsum("c,cab->ab", share, gradients[faces[face]]))
        ridden.append(share @ posed[faces[face]] + left @ right @ offset)
    return np.array(ridden)


def test_quick_way_gives_what_the_plain_way_gives():
    vertices, faces = icosphere(2)
    posed = vertices * [1.3, 0.8, 1.0] + 6.0 * np.sin(vertices[:, [1, 2, 0]] / 25.0)
    binding = bind(Surface(vertices, faces), RNG.normal(size=(150, 3)) * 55)
    ridden = RidingSkin(vertices, faces).carry(binding, posed)
    assert np.abs(ridden - plainly_carried(vertices, faces, binding, posed)).max() < 1e-9


def test_tiny_triangles_turn_as_large_ones_do():
    vertices, faces = icosphere(1)
    tiny = vertices * 1e-5
    binding = bind(Surface(tiny, faces), tiny * 1.5)
    assert np.abs(RidingSkin(tiny, faces).carry(binding, MOTION.apply(tiny)) - MOTION.apply(tiny * 1.5)).max() < 1e-9


def test_rest_is_kept():
    vertices, faces = icosphere(2)
    points = RNG.normal(size=(50, 3)) * 60
    assert np.allclose(RidingSkin(vertices, faces).carry(bind(Surface(vertices, faces), points), vertices), points)


def test_bent_sheet_keeps_thickness_over_it():
    """A flat sheet rolled on a cylinder of radius R: a point h over it must end on radius R + h."""
    radius, high = 60.0, 4.0
    vertices, faces = sheet(steps=60)
    rolled = np.stack(
        [radius * np.sin(vertices[:, 0] / radius), vertices[:, 1], radius * np.cos(vertices[:, 0] / radius)], axis=1
    )
    points = np.stack([RNG.uniform(-40, 40, 300), RNG.uniform(-40, 40, 300), np.full(300, high)], axis=1)
    ridden = RidingSkin(vertices, faces).carry(bind(Surface(vertices, faces), points), rolled)
    wanted = np.stack(
        [
            (radius + high) * np.sin(points[:, 0] / radius),
            points[:, 1],
            (radius + high) * np.cos(points[:, 0] / radius),
        ],
        axis=1,
    )
    assert np.abs(ridden - wanted).max() < 0.03


def test_stretch_does_not_thicken():
    vertices, faces = sheet(steps=20)
    points = np.array([[3.0, 4.0, 2.5], [-11.0, 9.0, 1.0]])
    ridden = RidingSkin(vertices, faces).carry(bind(Surface(vertices, faces), points), vertices * [1.6, 1.0, 1.0])
    assert np.allclose(ridden, points * [1.6, 1.0, 1.0])


def test_carry_is_continuous_across_edges():
    vertices, faces = sheet(steps=10)
    bent = vertices + np.stack([0 * vertices[:, 0], 0 * vertices[:, 0], 0.02 * vertices[:, 0] ** 2], axis=1)
    line = np.stack([np.linspace(-40, 40, 4001), np.full(4001, 1.3), np.full(4001, 5.0)], axis=1)
    ridden = RidingSkin(vertices, faces).carry(bind(Surface(vertices, faces), line), bent)
    assert np.linalg.norm(np.diff(ridden, axis=0), axis=1).max() < 0.1


def test_nearest_rotations_are_polar_factors():
    matrices = RNG.normal(size=(300, 3, 3))
    matrices[0] = np.diag([1.0, 1.0, -1.0])
    matrices[1] = np.outer([1, 0, 0], [0, 1, 0]) + np.outer([0, 1, 0], [1, 0, 0])
    turned = nearest_rotations(matrices.transpose(1, 2, 0)).transpose(2, 0, 1)
    assert np.allclose(turned @ turned.transpose(0, 2, 1), np.eye(3), atol=1e-9)
    assert np.allclose(np.linalg.det(turned), 1.0)
    left, _, right = np.linalg.svd(matrices)
    good = np.linalg.det(matrices) > 0
    assert np.allclose(turned[good], (left @ right)[good], atol=1e-7)


def test_flat_triangles_do_no_harm():
    vertices, faces = sheet(steps=6)
    faces = np.concatenate([faces, [[0, 0, 1]]])
    points = vertices + [0, 0, 1.0]
    ridden = RidingSkin(vertices, faces).carry(bind(Surface(vertices, faces), points), MOTION.apply(vertices))
    assert np.abs(ridden - MOTION.apply(points)).max() == pytest.approx(0.0, abs=1e-9)
