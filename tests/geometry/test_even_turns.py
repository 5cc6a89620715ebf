"""Rotations spread evenly: each is one, and as unit quaternions have it."""

import numpy as np
import pytest

from dryfit.geometry.even_turns import even_turns, quaternion_matrices
from dryfit.geometry.rigid import rotation_matrix


@pytest.mark.parametrize("axis", [(1.0, 0, 0), (0, 1.0, 0), (0, 0, 1.0), (0.48, 0.6, 0.64), (-0.6, 0.0, 0.8)])
@pytest.mark.parametrize("angle_deg", [0.0, 33.0, 90.0, 180.0, 250.0])
def test_a_quaternion_turns_about_its_axis(axis, angle_deg):
    """Half the angle: (axis sin a/2, cos a/2)."""
    half = np.radians(angle_deg) / 2.0
    x, y, z = (np.array([part * np.sin(half)]) for part in axis)
    (turn,) = quaternion_matrices(x, y, z, np.array([np.cos(half)]))
    np.testing.assert_allclose(turn, rotation_matrix(np.radians(angle_deg) * np.array(axis)), atol=1e-12)


def test_turns_are_rotations_and_leave_no_direction_out():
    """Where many even turns take one direction is spread over the whole sphere: its mean is nothing, its moments 1/3."""
    turns = even_turns(2000)
    np.testing.assert_allclose(turns @ np.swapaxes(turns, 1, 2), np.broadcast_to(np.eye(3), turns.shape), atol=1e-12)
    assert np.linalg.det(turns) == pytest.approx(1.0)
    taken = turns @ np.array([0.6, 0.0, 0.8])
    np.testing.assert_allclose(taken.mean(axis=0), 0.0, atol=0.01)
    np.testing.assert_allclose(taken.T @ taken / len(taken), np.eye(3) / 3.0, atol=0.01)


def test_no_turn_lies_far_from_all_the_others():
    """A hundred even turns are nowhere further from the next than 60 degrees."""
    turns = even_turns(100)
    traces = np.einsum("aij,bij->ab", turns, turns)
    angles_deg = np.degrees(np.arccos(np.clip((traces - 1.0) / 2.0, -1.0, 1.0)))
    np.fill_diagonal(angles_deg, 180.0)
    nearest_deg = angles_deg.min(axis=1)
    assert nearest_deg.min() > 15.0 and nearest_deg.max() < 60.0
