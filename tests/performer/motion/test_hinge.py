"""The hinge against published geometry.

Bonwill triangle means, condyle height over the occlusal plane: morphometric CBCT study, n = 120, PubMed 26734666
(arm 103.3 mm, base 99.6 mm, height 34.3 mm). Chord of a turn: 2 R sin(theta / 2), R perpendicular to the axis.
"""

from dataclasses import replace

import numpy as np
import pytest

from dryfit.geometry.rigid import turn_about
from dryfit.model.brief import HingeBrief
from dryfit.performer.head_frame import HeadFrame
from dryfit.performer.motion.base_motion import BaseMotion
from dryfit.performer.motion.hinge import Hinge, missing_for_hinge
from mouth_shapes import NO_SLIDE, landmarks

ARM, BASE, ABOVE, BEHIND = 103.3, 99.6, 34.3, 83.75
CHORDS = {  # R: {degrees: mm}
    87.99: {5: 7.68, 10: 15.34, 12: 18.39, 13: 19.92, 20: 30.56, 30: 45.55, 34.1: 51.60},
    90.50: {5: 7.90, 10: 15.78, 12: 18.92, 13: 20.49, 20: 31.43, 30: 46.85, 34.1: 53.07},
    95.26: {5: 8.31, 10: 16.61, 12: 19.92, 13: 21.57, 20: 33.08, 30: 49.31, 34.1: 55.86},
}
COMPONENTS = {5: (3.31, 7.17), 12: (8.96, 16.66), 20: (16.78, 26.58)}  # degrees: (back, down), CBCT means


def hinge(open_deg, slide_deg_per_mm=NO_SLIDE, **more):
    return Hinge.from_landmarks(landmarks(), HingeBrief(open_deg, slide_deg_per_mm, **more))


def cbct_hinge(open_deg):
    half = BASE / 2
    return hinge(open_deg, axis_left_mm=(half, ABOVE, -BEHIND), axis_right_mm=(-half, ABOVE, -BEHIND))


@pytest.mark.parametrize("radius", CHORDS)
@pytest.mark.parametrize("degrees", [5, 10, 12, 13, 20, 30, 34.1])
def test_incisal_travel_is_the_chord(radius, degrees):
    made = hinge(degrees)
    incisor = made.point_mm + radius * np.cross(made.axis, [0, 1, 0])
    travel = np.linalg.norm(made.motion_at(1.0).apply(incisor) - incisor)
    assert travel == pytest.approx(2 * radius * np.sin(np.radians(degrees) / 2), abs=1e-9)
    assert travel == pytest.approx(CHORDS[radius][degrees], abs=0.006)


def test_radius_is_the_distance_from_the_axis_not_the_arm():
    made = cbct_hinge(13)
    arm = np.linalg.norm([BASE / 2, ABOVE, BEHIND])
    assert arm == pytest.approx(ARM, abs=0.2)
    travel = np.linalg.norm(made.motion_at(1.0).apply(np.zeros(3)))
    assert travel == pytest.approx(20.49, abs=0.01)
    assert abs(travel - 2 * arm * np.sin(np.radians(13) / 2)) > 2.0


@pytest.mark.parametrize("degrees", COMPONENTS)
def test_chin_goes_back_as_well_as_down(degrees):
    moved = cbct_hinge(degrees).motion_at(1.0).apply(np.zeros(3))
    assert (-moved[2], -moved[1]) == pytest.approx(COMPONENTS[degrees], abs=0.006)
    assert moved[0] == pytest.approx(0.0, abs=1e-12)


def test_axis_runs_12_mm_in_front_of_each_tragion():
    made, marks = hinge(25.0), landmarks()
    way = marks["exocanthion_left"] - marks["tragion_left"]
    end = marks["tragion_left"] + 12.0 * way / np.linalg.norm(way)
    assert np.allclose(np.cross(end - made.point_mm, made.axis), 0.0, atol=1e-9)
    assert np.linalg.norm(end - marks["tragion_left"]) == pytest.approx(12.0)


def test_slide_is_one_millimetre_forward_for_each_degree_and_a_half():
    """Leader et al. 2003, J Biomech 36:275-281."""
    with_slide, without = hinge(24.0, 1.5), hinge(24.0)
    slide = with_slide.motion_at(1.0).apply(np.zeros(3)) - without.motion_at(1.0).apply(np.zeros(3))
    assert np.linalg.norm(slide) == pytest.approx(16.0, abs=1e-6)
    assert slide[2] > 0
    flatter = hinge(24.0, 1.5, slide_down_deg=0.0)
    assert with_slide.slide_mm[1] < flatter.slide_mm[1]


def test_turn_is_finite_and_never_along_the_chord():
    made = hinge(40.0)
    point = np.array([[5.0, -30.0, 90.0]])
    for t in (-0.5, 0.25, 0.5, 1.0):
        moved = made.carried(point, np.ones(1), t)
        assert np.allclose(moved, made.motion_at(t).apply(point), atol=1e-12)
        arm = moved - made.point_mm
        assert np.linalg.norm(arm - np.outer(arm @ made.axis, made.axis)) == pytest.approx(
            np.linalg.norm((point - made.point_mm)[0, 1:]), abs=1e-9
        )
    assert np.allclose(made.carried(point, np.zeros(1), 1.0), point)


def test_missing_landmarks_of_a_hinge_are_listed():
    marks = landmarks()
    del marks["gnathion"], marks["tragion_right"]
    assert missing_for_hinge(marks) == ("tragion_right", "gnathion")
    assert missing_for_hinge(landmarks()) == ()


def test_positive_turn_opens_downward():
    frame = HeadFrame.from_landmarks(landmarks())
    moved = hinge(20.0).motion_at(1.0).apply(landmarks()["gnathion"]) - landmarks()["gnathion"]
    assert moved @ frame.up < -20.0


@pytest.mark.parametrize("degrees", [5.0, 12.0, 24.4])
def test_a_mouth_sculpted_open_is_led_back_to_where_its_lips_meet(degrees):
    """A lower lip that a pure turn brought down from the upper one is brought back by the same turn, from any rest."""
    closed = hinge(30.0)
    upper = closed.point_mm + np.array([0.0, -40.0, 90.0])
    up = np.array([0.0, 1.0, 0.0])
    lower = turn_about(closed.point_mm, closed.axis, np.radians(degrees)).apply(upper)
    found = closed.found_open(upper, lower, up)
    assert np.degrees(found.open_rad * found.rest_t) == pytest.approx(degrees, abs=1e-5)
    assert found.motion_at(0.0).apply(lower) == pytest.approx(upper, abs=1e-5)
    assert found.motion_at(found.rest_t).apply(lower) == pytest.approx(lower, abs=1e-9)


def test_a_moved_hinge_is_the_same_one_elsewhere():
    hinge = Hinge.from_landmarks(landmarks(), HingeBrief(open_deg=30.0))
    offset_mm = np.array([1.0, -2.0, 3.0])
    moved = hinge.moved(offset_mm)
    np.testing.assert_allclose(moved.point_mm, hinge.point_mm + offset_mm)
    chin = np.array([5.0, -80.0, -90.0])
    taken = moved.motion_at(1.0).apply(chin + offset_mm) - offset_mm
    np.testing.assert_allclose(taken, hinge.motion_at(1.0).apply(chin), atol=1e-9)


def test_keys_begin_where_the_scan_was_taken_and_a_hinge_where_it_says():
    keyed = BaseMotion(following=lambda ids: None)
    led = replace(keyed, hinge=replace(hinge(30.0), rest_t=0.25))
    assert (keyed.rest_t, led.rest_t) == (0.0, 0.25)
