"""Size, turn and shift, there and back."""

import numpy as np
import pytest

from dryfit.geometry.rigid import rotation_matrix
from dryfit.geometry.similarity import Similarity, fit_similarity

AXIS = np.array([0.48, 0.6, 0.64])
POINTS = np.array([[1.0, 2, 3], [-4, 5, -6], [0, 0, 0]])


def turned(angle_deg, scale=1.0, shift=(0.0, 0.0, 0.0)):
    return Similarity(scale, rotation_matrix(np.radians(angle_deg) * AXIS), np.array(shift))


@pytest.mark.parametrize("angle_deg", [0.0, 10.0, 75.0, 90.0, 150.0, 180.0])
@pytest.mark.parametrize("scale", [0.5, 2.0])
def test_the_angle_between_two_is_what_one_turned_more_whatever_their_size_and_place(angle_deg, scale):
    one, other = turned(20.0), turned(20.0 + angle_deg, scale, (5.0, -6.0, 7.0))
    assert one.angle_to_deg(other) == pytest.approx(angle_deg, abs=1e-5)
    assert other.angle_to_deg(one) == pytest.approx(angle_deg, abs=1e-5)


def test_what_is_turned_sized_and_shifted_comes_back():
    there = turned(40.0, 1.7, (5.0, -6.0, 7.0))
    moved = there.apply(POINTS)
    np.testing.assert_allclose(moved[2], [5.0, -6.0, 7.0])
    np.testing.assert_allclose(np.linalg.norm(moved[0] - moved[1]), 1.7 * np.linalg.norm(POINTS[0] - POINTS[1]))
    np.testing.assert_allclose(there.inverse.apply(moved), POINTS, atol=1e-9)
    np.testing.assert_allclose(there.turn(POINTS), turned(40.0).apply(POINTS))


@pytest.mark.parametrize(("scale_range", "scale"), [((0.0, np.inf), 1.7), ((0.5, 1.5), 1.5), ((2.0, 2.0), 2.0)])
def test_the_best_fit_finds_what_points_were_moved_by_and_keeps_its_size_in_range(scale_range, scale):
    there = turned(40.0, 1.7, (5.0, -6.0, 7.0))
    points = np.vstack([POINTS, [[3.0, -1.0, 4.0]]])
    moved = there.apply(points)
    moved[3] += 50.0
    found = fit_similarity(points, moved, np.array([1.0, 1.0, 1.0, 0.0]), scale_range)
    assert found.scale == pytest.approx(scale) and found.angle_to_deg(there) == pytest.approx(0.0, abs=1e-5)
    middle = points[:3].mean(axis=0)
    np.testing.assert_allclose(found.apply(middle), there.apply(middle), atol=1e-9)


@pytest.mark.parametrize(("scale_range", "scale"), [((0.0, np.inf), 1.0), ((2.0, 3.0), 2.0)])
def test_one_point_alone_says_nothing_of_size_or_turn(scale_range, scale):
    found = fit_similarity(np.array([[1.0, 2.0, 3.0]]), np.array([[4.0, 4.0, 4.0]]), scale_range=scale_range)
    assert found.scale == scale
    np.testing.assert_allclose(found.apply([1.0, 2.0, 3.0]), [4.0, 4.0, 4.0])
