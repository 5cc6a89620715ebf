"""Which skin goes firmly with the jaw and which with the skull: just within each bound and just beyond it."""

import numpy as np
import pytest

from dryfit.performer.motion.jaw_field import Parting, _firm

UPPER_SHARE, LOWER_SHARE = 0.85, 0.6
LIP_DEPTH_MM, PALATE_DEPTH_MM, CHEEK_MM = 25.0, 45.0, 25.0
CHIN_REACH_MM, NECK_MM, BEHIND_AXIS_MM = 20.0, 45.0, 5.0
HALF_MM, LIPS_MM, LEVEL_MM, BAND_MM = 25.0, 90.0, -40.0, 3.0
CHIN = np.array([0.0, 85.0, -90.0])
SHEET = Parting(
    frame=None, corners=np.array([[-HALF_MM, LIPS_MM, LEVEL_MM], [HALF_MM, LIPS_MM, LEVEL_MM]]),
    middle=np.array([0.0, LIPS_MM, LEVEL_MM]), axis=np.zeros(3), chin=CHIN, margins=np.zeros((2, 3)),
)  # fmt: skip
LITTLE = 1e-3
JAW, SKULL, FREE = (True, False), (False, True), (False, False)


def firm(left_mm, behind_mm, over_mm):
    """What a place goes with: left of the midline, behind the lips, over the sheet from the axis to the mouth line."""
    front = LIPS_MM - behind_mm
    up = LEVEL_MM * np.clip(front / LIPS_MM, 0.0, 1.0) + over_mm
    lower, upper = _firm(SHEET, np.array([[left_mm, front, up]]), BAND_MM)
    return bool(lower[0]), bool(upper[0])


@pytest.mark.parametrize(
    ("within", "beyond", "what"),
    [((0.0, 0.0, -BAND_MM - LITTLE), (0.0, 0.0, -BAND_MM), JAW),
     ((LOWER_SHARE * HALF_MM - LITTLE, 0.0, -9.0), (LOWER_SHARE * HALF_MM + LITTLE, 0.0, -9.0), JAW),
     ((0.0, LIP_DEPTH_MM - LITTLE, -9.0), (0.0, LIP_DEPTH_MM + LITTLE, -9.0), JAW),
     ((0.0, 0.0, BAND_MM + LITTLE), (0.0, 0.0, BAND_MM - LITTLE), SKULL),
     ((UPPER_SHARE * HALF_MM - LITTLE, 0.0, 9.0), (UPPER_SHARE * HALF_MM + LITTLE, 0.0, 9.0), SKULL),
     ((0.0, PALATE_DEPTH_MM - LITTLE, 9.0), (0.0, PALATE_DEPTH_MM + LITTLE, 9.0), SKULL),
     ((60.0, 50.0, CHEEK_MM + LITTLE), (60.0, 50.0, CHEEK_MM - LITTLE), SKULL),
     ((60.0, LIPS_MM + BEHIND_AXIS_MM + LITTLE, -9.0), (60.0, LIPS_MM + BEHIND_AXIS_MM - LITTLE, -9.0), SKULL)],
)  # fmt: skip
def test_skin_is_firm_up_to_each_bound_and_free_beyond(within, beyond, what):
    assert firm(*within) == what
    assert firm(*beyond) == FREE


def at(point):
    lower, upper = _firm(SHEET, np.array([point]), BAND_MM)
    return bool(lower[0]), bool(upper[0])


def test_the_chin_goes_with_the_jaw_all_round_and_the_neck_far_below_it_with_the_skull():
    for way in ([1.0, 0, 0], [0, -1.0, 0], [0, 0, -1.0]):
        assert at(CHIN + (CHIN_REACH_MM - LITTLE) * np.array(way)) == JAW
        assert at(CHIN + (CHIN_REACH_MM + LITTLE) * np.array(way)) == FREE
    assert at(CHIN - [0.0, 0.0, NECK_MM - LITTLE]) == FREE
    assert at(CHIN - [0.0, 0.0, NECK_MM + LITTLE]) == SKULL
