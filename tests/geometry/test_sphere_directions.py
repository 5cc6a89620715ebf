import numpy as np
import pytest

from dryfit.geometry.sphere_directions import even_directions, first_break_deg, meridian_directions


def test_directions_are_even():
    directions = even_directions(20000)
    assert np.linalg.norm(directions, axis=1) == pytest.approx(1.0)
    for axis in np.vstack([np.eye(3), [[0.6, 0.0, 0.8], [0.48, -0.6, 0.64]]]):
        for half_angle in (5.0, 20.0, 60.0, 107.0):
            inside = (directions @ axis > np.cos(np.radians(half_angle))).mean()
            assert inside == pytest.approx((1 - np.cos(np.radians(half_angle))) / 2, abs=3e-4)


def test_meridians_run_left_up_right_down():
    axes = np.eye(3)
    for meridian, side in ((0, [1, 0, 0]), (90, [0, 0, 1]), (180, [-1, 0, 0]), (270, [0, 0, -1])):
        ahead, tilted = meridian_directions(axes, meridian, [0.0, 30.0])
        assert ahead == pytest.approx([0, 1, 0])
        assert tilted == pytest.approx(np.cos(np.pi / 6) * np.array([0, 1, 0]) + 0.5 * np.array(side), abs=1e-12)


def test_the_first_break_ends_the_field_but_a_thin_bar_does_not():
    angles = np.arange(0.0, 90.05, 0.1)
    bar = (angles > 10.0) & (angles < 10.6)
    wall = angles > 40.04
    assert first_break_deg(angles, bar | wall, 1.0) == pytest.approx(40.05)
    assert first_break_deg(angles, bar, 0.3) == pytest.approx(10.05, abs=0.06)
    assert first_break_deg(angles, angles < 20.0, 1.0) == 0.0
    assert first_break_deg(angles, angles < -1.0, 1.0) == 90.0
    assert first_break_deg(angles, angles > 89.95, 1.0) == pytest.approx(89.95)
