"""Rigid motions: exact fits, trimmed fits, turns."""

import numpy as np
import pytest

from dryfit.geometry.rigid import (
    IDENTITY,
    RigidMotion,
    fit_rigid,
    fit_rigid_majority,
    rotation_matrix,
    rotation_vector,
    turn_about,
)

RNG = np.random.default_rng(7)


def random_motion(angle=1.3):
    axis = RNG.normal(size=3)
    return RigidMotion(rotation_matrix(angle * axis / np.linalg.norm(axis)), RNG.normal(size=3) * 40)


@pytest.mark.parametrize("angle", [0.0, 1e-9, 1e-4, 0.5, 3.0, np.pi])
def test_rotation_vector_comes_back(angle):
    vector = angle * np.array([2.0, -1.0, 0.5]) / np.linalg.norm([2.0, -1.0, 0.5])
    again = rotation_matrix(rotation_vector(rotation_matrix(vector)))
    assert np.allclose(again, rotation_matrix(vector), atol=1e-9)


def test_fit_is_exact_also_for_flat_points():
    motion, points = random_motion(), RNG.normal(size=(30, 3)) * [50, 50, 0]
    fitted = fit_rigid(points, motion.apply(points), RNG.uniform(0.1, 1, 30))
    assert np.allclose(fitted.rotation, motion.rotation, atol=1e-10)
    assert np.allclose(fitted.shift_mm, motion.shift_mm, atol=1e-9)


def test_fit_never_mirrors():
    points = RNG.normal(size=(20, 3))
    assert np.linalg.det(fit_rigid(points, points * [-1, 1, 1]).rotation) == pytest.approx(1.0)


def test_majority_ignores_what_stretches():
    points, motion = RNG.normal(size=(100, 3)) * 30, random_motion(0.4)
    moved = motion.apply(points)
    moved[:40] += RNG.normal(size=(40, 3)) * 10
    fitted, kept = fit_rigid_majority(points, moved, np.ones(100, bool))
    assert np.allclose(fitted.rotation, motion.rotation, atol=1e-9)
    assert not kept[:40].any()


def test_chain_and_inverse():
    one, two, points = random_motion(), random_motion(), RNG.normal(size=(5, 3))
    assert np.allclose(two.after(one).apply(points), two.apply(one.apply(points)))
    assert np.allclose(one.inverse.apply(one.apply(points)), points)
    assert IDENTITY.angle_deg == 0.0


def test_turn_leaves_its_axis():
    point, axis = np.array([1.0, 2, 3]), np.array([0, 0.6, 0.8])
    turn = turn_about(point, axis, 0.7)
    assert np.allclose(turn.apply(point + 5 * axis), point + 5 * axis)
    assert turn.angle_deg == pytest.approx(np.degrees(0.7))
