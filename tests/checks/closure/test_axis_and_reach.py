"""What hangs on the hinge's axis, in closed form, and what a gap asks of the lips."""

from dataclasses import replace

import numpy as np
import pytest
import test_closure_closed_forms as forms
from test_closure_closed_forms import OPEN_DEG, closed, contact_angle_deg, gap_of_cylinders, spiked

import mouth_shapes
from dryfit.checks.closure.lip_reach import LipReach, reach_of
from dryfit.checks.closure.verdict import closing_severity
from dryfit.model.limits import Limits
from mouth_shapes import axis_yz, hinge, turned_yz

TIP_Y = 17.5
WAYS = [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)]


def answers_with_axis_moved(monkeypatch, offset_mm):
    """Gap and place of the spike's foremost point where the spike meets the plate, for each way, as formulas."""
    found = []
    as_found = axis_yz()
    for way in [(0.0, 0.0), *WAYS]:
        moved = as_found + offset_mm * np.array(way)
        monkeypatch.setattr(forms, "axis_yz", lambda moved=moved: moved)
        monkeypatch.setattr(mouth_shapes, "axis_yz", lambda moved=moved: moved)
        angle = contact_angle_deg([TIP_Y, 80.0], 8.0)
        ahead = turned_yz([0.0, 80.0], angle)[1] - 80.0
        found.append((gap_of_cylinders(angle, 0.1), ahead))
    monkeypatch.undo()
    return np.array(found)


@pytest.mark.parametrize("offset_mm", [5.0, 10.0])
def test_gaps_with_the_axis_moved_follow_the_formula(monkeypatch, offset_mm):
    """Lips and spike turn about the moved axis; the gap is that of the cylinders at the angle of contact there."""
    gaps = answers_with_axis_moved(monkeypatch, offset_mm)[1:, 0]
    assert np.ptp(gaps) > 0.2
    figures = closed(spiked(TIP_Y), hinge(OPEN_DEG)).measures
    assert figures[f"axis_{offset_mm:.0f}mm_gap_low_mm"] == pytest.approx(gaps.min(), abs=0.03)
    assert figures[f"axis_{offset_mm:.0f}mm_gap_high_mm"] == pytest.approx(gaps.max(), abs=0.03)


def test_each_distance_that_the_axis_is_moved_has_its_figures():
    figures = closed(spiked(TIP_Y), hinge(OPEN_DEG)).measures
    assert {name for name in figures if name.startswith("axis_")} == {
        f"axis_{offset}mm_{what}"
        for offset in (5, 10)
        for what in ("gap_low_mm", "gap_high_mm", "bite_shift_mm", "flips")
    }


def test_the_axis_is_moved_as_far_as_the_brief_says_it_may_be_off(monkeypatch):
    brief = hinge(OPEN_DEG)
    narrower = replace(brief, limits=replace(brief.limits, axis_sensitivity_mm=2.5))
    gaps = answers_with_axis_moved(monkeypatch, 2.5)[1:, 0]
    figures = closed(spiked(TIP_Y), narrower).measures
    assert figures["axis_2_5mm_gap_low_mm"] == pytest.approx(gaps.min(), abs=0.03)
    assert figures["axis_2_5mm_gap_high_mm"] == pytest.approx(gaps.max(), abs=0.03)
    assert {name.split("mm_")[0] for name in figures if name.startswith("axis_")} == {"axis_2_5", "axis_5"}


def test_an_axis_that_is_known_is_not_moved():
    brief = hinge(OPEN_DEG)
    known = replace(brief, limits=replace(brief.limits, axis_sensitivity_mm=0.0))
    assert not [name for name in closed(spiked(TIP_Y), known).measures if name.startswith("axis_")]


@pytest.mark.parametrize(
    ("gap_mm", "own_mm", "reach"),
    [(2.9, 0.0, LipReach.EASY), (3.1, 0.0, LipReach.STRAIN), (4.9, 0.0, LipReach.STRAIN), (5.1, 0.0, LipReach.OUT_OF_REACH),
     (5.1, 6.0, LipReach.STRAIN), (2.5, 2.0, LipReach.OUT_OF_REACH), (1.9, 2.0, LipReach.EASY)],
)  # fmt: skip
def test_lips_reach_with_ease_up_to_3_mm_and_as_far_as_the_performer_reaches(gap_mm, own_mm, reach):
    """0-3 mm competent (Proffit, Contemporary Orthodontics, from memory); a performer's own reach goes before 5 mm.

    That lips normally rest 1-5 mm apart (Arnett & Bergman 1993, from memory) is no proof that 5.1 mm is out of reach:
    the limit is a choice, and stands until the performer shows more.
    """
    limits = replace(Limits(), lip_reach_mm=own_mm)
    assert reach_of(gap_mm, False, limits) == reach
    assert reach_of(gap_mm, True, limits) == LipReach.MEET


def test_what_is_blocked_is_never_better_than_review():
    assert [closing_severity(reach, False) for reach in LipReach] == ["info", "info", "review", "fail"]
    assert [closing_severity(reach, True) for reach in LipReach] == ["review", "review", "review", "fail"]
