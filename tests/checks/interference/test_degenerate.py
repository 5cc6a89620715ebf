"""Walls that are flush, corners on faces, edges on edges, bodies within bodies and right through them: closed forms."""

import numpy as np
import pytest

from dryfit.checks.interference.interference import CHECK
from dryfit.model.progress import drain
from dryfit.model.snapshot import Part
from dryfit.performer.fitting import Fitting
from meeting_shapes import ball, box, moving


def asked(first, second, shift, name="press"):
    """What is said of a body that moves straight by ``shift`` beside one that stays."""
    parts = Part("Still", "hardware", *first), Part("Moving", "hardware", *second)
    snapshot, brief = moving(*parts, motions={name: {"Moving": [[0, 0, 0], shift]}})
    return drain(CHECK.measure(Fitting(snapshot, brief), brief)).measures


def roof(low_z, high_z, half_width, half_length, along=0):
    """A prism with its ridge at ``high_z`` along x (or y) over a base at ``low_z``; upside down where that is higher."""
    ends = [(-half_length, -half_width, low_z), (-half_length, half_width, low_z), (-half_length, 0.0, high_z)]
    vertices = np.array([*ends, *((-x, y, z) for x, y, z in ends)])
    faces = np.array([[0, 2, 1], [3, 4, 5], [0, 1, 4], [0, 4, 3], [0, 3, 5], [0, 5, 2], [1, 2, 5], [1, 5, 4]])
    return (vertices if along == 0 else vertices[:, [1, 0, 2]] * [-1, 1, 1]), faces


LOW, HIGH = (-15, -78, 8), (15, -74, 16)


@pytest.mark.parametrize(
    ("low", "high", "touch_mm", "deep_mm"),
    [((-15, -78, 2), (15, -74, 14), 24.0, 4.0),  # all four walls flush; 6 mm over each other at the end
     ((-15, -78, 7), (15, -74, 9), 29.0, 1.0),  # the same, 1 mm
     ((-14.75, -78, 2), (14.75, -74, 14), 24.0, 4.0),  # two walls flush
     ((-15, -76, 2), (15, -72, 14), 24.0, 2.0),  # two walls flush, half of the depth
     ((-15, -74.8, 2), (15, -70, 14), 24.0, 0.8)],
)  # fmt: skip
def test_flush_walls(low, high, touch_mm, deep_mm):
    """A slab comes up 30 mm under another: it touches where its top is as high as the other's bottom."""
    second = box(low, high)
    found = asked(box(LOW, HIGH), (second[0] - [0, 0, 30.0], second[1]), [0, 0, 30.0])
    assert found["start_t"] == pytest.approx(touch_mm / 30.0, abs=1e-4)
    assert found["hard_penetration_mm"] == pytest.approx(deep_mm, abs=1e-6)


@pytest.mark.parametrize("low", [(-15, -74.1, 2), (-15, -74, 2), (-15, -73, 2), (15, -78, 2)])
def test_a_graze_and_walls_that_only_touch_are_nothing(low):
    second = box(low, np.array(low) + [30, 4, 12])
    found = asked(box(LOW, HIGH), (second[0] - [0, 0, 30.0], second[1]), [0, 0, 30.0])
    assert found["pairs"] == 0.0
    assert found["hard_penetration_mm"] <= 0.1 + 1e-6


def test_one_and_the_same_shape_moved_into_itself():
    body = box([-5, -4, 0], [5, 4, 6])
    found = asked(body, (body[0] + [0, 0, 20.0], body[1]), [0, 0, -20.0])
    assert found["start_t"] == pytest.approx(14.0 / 20.0, abs=1e-4)
    assert found["hard_penetration_mm"] == pytest.approx(6.0, abs=1e-6)


def test_a_corner_right_on_a_corner_of_the_faces_below():
    """The tip of an upside-down pyramid comes down on the middle of a plate, where four triangles meet."""
    plate = box([-10, -10, -8], [10, 10, 0])
    vertices = np.concatenate([plate[0], [[0, 0, 0]]])
    top = [face for face in plate[1].tolist() if all(plate[0][corner][2] == 0 for corner in face)]
    kept = [face for face in plate[1].tolist() if face not in top]
    ring = [(-10, -10), (10, -10), (10, 10), (-10, 10)]
    corners = [int(np.flatnonzero((plate[0] == [x, y, 0]).all(axis=1))[0]) for x, y in ring]
    faces = np.array([*kept, *([corners[n], corners[(n + 1) % 4], 8] for n in range(4))])
    tip = np.array([[3, 3, 12], [-3, 3, 12], [-3, -3, 12], [3, -3, 12], [0, 0, 5]], float)
    pyramid = tip, np.array([[4, 1, 0], [4, 2, 1], [4, 3, 2], [4, 0, 3], [0, 1, 2], [0, 2, 3]])
    found = asked((vertices, faces), pyramid, [0, 0, -7.0])
    assert found["start_t"] == pytest.approx(5.0 / 7.0, abs=1e-4)
    assert found["hard_penetration_mm"] == pytest.approx(2.0, abs=1e-6)


@pytest.mark.parametrize("along", [0, 1])
def test_ridge_on_ridge(along):
    """Two roofs, ridge to ridge: along each other, so that the ridges lie on one line, and at right angles."""
    lower, upper = roof(-6, 0, 4, 10), roof(12, 5, 4, 10, along)
    upper = upper[0], upper[1][:, ::-1]
    found = asked(lower, upper, [0, 0, -8.0])
    assert found["start_t"] == pytest.approx(5.0 / 8.0, abs=1e-4)
    assert found["pairs"] == 1.0


def test_a_body_wholly_inside_another():
    """At the poses looked at the small one is outside or wholly inside; it goes through the wall in between."""
    found = asked(box([-30, -30, 0], [30, 30, 60]), ball([0, 0, 75], 2.0, 3), [0, 0, -45.0])
    assert found["start_t"] == pytest.approx((75 - 2 - 60) / 45.0, abs=1e-3)
    assert found["hard_penetration_mm"] == pytest.approx(32.0, abs=0.1)


@pytest.mark.parametrize("thick_mm", [0.3, 1.0, 3.0])
def test_a_body_that_goes_right_through_another_between_two_poses(thick_mm):
    """A stud 2 mm long drops 80 mm, 10 mm from one pose to the next, through a plate that none of them shows it in."""
    plate = box([-20, -20, 0], [20, 20, thick_mm])
    stud = box([-3, -3, 34], [3, 3, 36])
    found = asked(plate, stud, [0, 0, -80.0])
    assert found["start_t"] == pytest.approx((34 - thick_mm) / 80.0, abs=1e-3)
    assert found["hard_penetration_mm"] > 0.2


def test_thin_bars_at_right_angles_do_not_slip_through_each_other():
    found = asked(box([-20, -0.4, 0], [20, 0.4, 0.8]), box([-0.4, -20, 33], [0.4, 20, 33.8]), [0, 0, -80.0])
    assert found["start_t"] == pytest.approx((33 - 0.8) / 80.0, abs=1e-3)
    assert found["pairs"] == 1.0


def test_what_misses_everything_between_two_poses_meets_nothing():
    found = asked(box([-20, -20, 0], [20, 20, 1.0]), box([20.5, -3, 34], [30, 3, 36]), [0, 0, -80.0])
    assert found["pairs"] == 0.0
    assert found["max_penetration_mm"] == 0.0
