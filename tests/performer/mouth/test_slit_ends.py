"""How far a slit is followed from its middle: over one place without it, never over two, and over no jump."""

import numpy as np
import pytest

from dryfit.performer.mouth.corners import STATIONS, STEP_MM, _followed, stations_between

NO = np.nan
LITTLE = 1e-6


@pytest.mark.parametrize(
    ("heights", "last"),
    [([0, 0, 0, 0], 3), ([0, NO, 0, 0], 3), ([0, NO, NO, 0], 0), ([0, 0, NO, 0, NO, NO, 0], 3),
     ([0, STEP_MM, 2 * STEP_MM], 2), ([0, STEP_MM + LITTLE, 2 * STEP_MM + LITTLE], 0),
     ([0, STEP_MM + LITTLE, 2 * STEP_MM], 2), ([0, NO, 2 * STEP_MM], 2), ([0, NO, 2 * STEP_MM + LITTLE], 0), ([0], 0)],
)  # fmt: skip
def test_a_slit_goes_on_over_one_place_and_no_jump(heights, last):
    onward = np.array(heights, float)
    assert _followed(onward, 0, 1) == last
    end = len(heights) - 1
    assert _followed(onward[::-1], end, -1) == end - last


def test_stations_stand_evenly_within_the_corners():
    stations = stations_between((-20.0, 30.0))
    assert len(stations) == STATIONS
    assert (stations[0], stations[-1]) == pytest.approx((-19.0, 29.0), abs=1e-3)
    np.testing.assert_allclose(np.diff(stations), 48.0 / (STATIONS - 1))
