"""One step toward planes: a box's corner comes home at once, and what planes leave free stays as it is."""

import numpy as np
import pytest

from dryfit.geometry.plane_fit import slid_onto_planes
from dryfit.geometry.rigid import rotation_matrix
from dryfit.geometry.similarity import Similarity

ANY = (0.1, 10.0)
LINE = np.linspace(-10.0, 10.0, 5)
HERE = Similarity(1.0, np.eye(3), np.zeros(3))


def box_sides():
    """Points on the six sides of a box of 20 mm, with their normals."""
    points, normals = [], []
    for axis in range(3):
        for side in (-1.0, 1.0):
            grid = np.stack(np.meshgrid(LINE, LINE), axis=2).reshape(-1, 2)
            points.append(np.insert(grid, axis, 10.0 * side, axis=1))
            normals.append(np.tile(side * np.eye(3)[axis], (len(grid), 1)))
    return np.concatenate(points), np.concatenate(normals)


POINTS, NORMALS = box_sides()


@pytest.mark.parametrize("shift", [(1.0, 0.0, 0.0), (0.0, -0.5, 0.25)])
def test_one_step_leaves_less_than_two_thousandths_of_a_shift(shift):
    step = slid_onto_planes(HERE, POINTS, POINTS + np.array(shift), NORMALS, ANY)
    left = np.linalg.norm(step.shift_mm - shift) / np.linalg.norm(shift)
    assert left < 0.002
    assert step.scale == pytest.approx(1.0) and step.angle_to_deg(HERE) == pytest.approx(0.0, abs=1e-4)


@pytest.mark.parametrize(("scale_range", "scale"), [(ANY, 1.05), ((0.9, 1.02), 1.02)])
def test_one_step_finds_a_size_and_keeps_it_in_range(scale_range, scale):
    step = slid_onto_planes(HERE, POINTS, 1.05 * POINTS, NORMALS, scale_range)
    assert step.scale == pytest.approx(scale, rel=1e-3)


def test_a_small_turn_is_found_in_the_direction_it_goes():
    turn = Similarity(1.0, rotation_matrix(np.radians([0.0, 0.0, 2.0])), np.zeros(3))
    step = slid_onto_planes(HERE, POINTS, turn.apply(POINTS), turn.turn(NORMALS), ANY)
    assert step.angle_to_deg(turn) < 0.05


def test_a_plane_alone_lets_its_points_slide():
    top = NORMALS[:, 2] > 0.5
    step = slid_onto_planes(HERE, POINTS[top], POINTS[top] + [3.0, 0.0, 1.0], NORMALS[top], (1.0, 1.0))
    np.testing.assert_allclose(step.apply(POINTS[top]), POINTS[top] + [0.0, 0.0, 1.0], atol=0.01)
