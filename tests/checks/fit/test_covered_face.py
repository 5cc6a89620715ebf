"""How much of a face is under a design, on a ball, where a zone's area goes with its height."""

import numpy as np
import pytest

from dryfit.checks.fit.covered import REACH_MM, covered_face
from dryfit.model.brief import Brief
from dryfit.performer.fitting import Fitting
from head_marks import MARKS, marks, snapshot
from shapes import icosphere

BALL = icosphere(5)
LOW_MM = MARKS["gnathion"][2]


def share(keep, radius_mm=102.0):
    """What a shell over some of the ball covers of its face: front half, above the chin."""
    vertices, faces = icosphere(5, radius_mm)
    middles = vertices[faces].mean(axis=1) / radius_mm * 100.0
    shot = snapshot(BALL, ("Shell", "appliance", (vertices, faces[keep(*middles.T)]), ""), landmarks=marks())
    return covered_face([shot.part("Shell")], Fitting(shot, Brief()))["covered_face_share"]


@pytest.mark.parametrize("low_mm", [20.0, -40.0, 60.0])
def test_a_zone_is_as_large_as_it_is_high(low_mm):
    assert share(lambda x, y, z: z > low_mm) == pytest.approx((100.0 - low_mm) / (100.0 - LOW_MM), abs=0.01)


def test_one_side_is_half_and_what_lies_behind_or_below_is_no_face():
    assert share(lambda x, y, z: x > 0.0) == pytest.approx(0.5, abs=0.01)
    assert share(lambda x, y, z: (y > 5.0) | (z < LOW_MM - 5.0)) == pytest.approx(0.0, abs=0.01)


def test_what_stands_far_off_covers_nothing():
    assert share(lambda x, y, z: z > 20.0, 100.0 + REACH_MM + 2.0) == 0.0
    assert share(lambda x, y, z: z > -200.0, 100.0 + REACH_MM - 2.0) == pytest.approx(1.0, abs=0.01)


def test_without_its_landmarks_nobody_knows_where_the_face_ends():
    shot = snapshot(BALL, ("Shell", "appliance", BALL, ""), landmarks={"sellion": np.array([0.0, -95.0, 30.0])})
    assert covered_face([shot.part("Shell")], Fitting(shot, Brief())) == {}
