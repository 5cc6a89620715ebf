"""How far a slit is followed from its middle: over one place without it, never over two, and over no jump."""

from types import SimpleNamespace

import numpy as np
import pytest

from dryfit.performer.mouth import corners
from dryfit.performer.mouth.corners import FINE_MM, STATIONS, STEP_MM, _followed, stations_between
from dryfit.performer.mouth.lip_skin import ZONE_SIDE_MM

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


RIGHT_MM, LEFT_MM = -20.0, 22.0
LINE = SimpleNamespace(corners=lambda t: np.array([[RIGHT_MM, 0.0, 0.0], [LEFT_MM, 0.0, 0.0]]))


def ends_of(low_mm, high_mm, monkeypatch, gap=()):
    """Where a straight slit between two places ends, some stretch between them left out."""

    def heights(skin, line, places_mm):
        there = (places_mm >= low_mm) & (places_mm <= high_mm)
        if gap:
            there &= ~((places_mm > gap[0]) & (places_mm < gap[1]))
        return np.where(there, 0.0, np.nan)

    monkeypatch.setattr(corners, "_heights", heights)
    return corners.slit_ends_mm(None, LINE)


@pytest.mark.parametrize(
    ("low_mm", "high_mm"), [(-22.3, 24.6), (-18.0, 10.2), (-25.12, 21.33), (-20.0 - ZONE_SIDE_MM + 1.0, 5.0)]
)
def test_a_slit_is_followed_to_within_a_twentieth_of_a_millimetre_of_both_corners(low_mm, high_mm, monkeypatch):
    found = ends_of(low_mm, high_mm, monkeypatch)
    assert found == pytest.approx((low_mm, high_mm), abs=FINE_MM + 1e-3)
    assert low_mm <= found[0] and found[1] <= high_mm


def test_where_a_slit_does_not_end_within_reach_its_landmarks_do(monkeypatch):
    assert ends_of(-99.0, 99.0, monkeypatch) == (RIGHT_MM, LEFT_MM)
    low_mm, high_mm = ends_of(-99.0, 10.2, monkeypatch)
    assert low_mm == RIGHT_MM and high_mm == pytest.approx(10.2, abs=FINE_MM + 1e-3)
    low_mm, high_mm = ends_of(-10.2, 99.0, monkeypatch)
    assert low_mm == pytest.approx(-10.2, abs=FINE_MM + 1e-3) and high_mm == LEFT_MM


def test_a_slit_ends_where_it_is_interrupted_by_more_than_one_place(monkeypatch):
    assert ends_of(-22.3, 24.6, monkeypatch, gap=(9.6, 10.4))[1] == pytest.approx(24.6, abs=FINE_MM + 1e-3)
    assert ends_of(-22.3, 24.6, monkeypatch, gap=(9.6, 11.4))[1] == pytest.approx(9.6, abs=FINE_MM + 1e-3)


def test_where_there_is_no_slit_it_has_no_ends(monkeypatch):
    assert ends_of(99.0, 100.0, monkeypatch) is None
