"""What the bare face's own gap excuses, and when closing cannot be judged from it: cylinder lips at known distances."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from test_closure_closed_forms import OPEN_DEG, closed

import dryfit
from dryfit.checks.closure.verdict import ClosingVerdict, closing_verdict
from dryfit.model.brief import Brief
from dryfit.model.finding import Severity, Status, status_of
from dryfit.model.limits import Limits
from dryfit.model.snapshot import Part
from dryfit.performer.closing import Closing, allowed_mm
from dryfit.performer.mouth.lips import GapProfile
from family import members
from mouth_shapes import box, hinge, mouth, peg

CHIN = Part("Chin", "appliance", *box([-5, -40, 104], [5, -36, 108]))


@cache
def cylinders(gap_mm):
    return closed(mouth(CHIN, gap_mm=gap_mm), hinge(OPEN_DEG))


def status(outcome):
    return status_of((finding.severity for finding in outcome.findings), outcome.reason)


def profile(*apart_mm, t=0.0):
    apart = np.array(apart_mm, float)
    count = len(apart)
    return GapProfile(t, np.arange(count) - 1.0, apart, apart, np.zeros(count), np.zeros((count, 3)))


@pytest.mark.parametrize(
    ("own_mm", "allowed"),
    [(-0.6, 0.2), (0.0, 0.8), (0.4, 1.2), (2.2, 3.0), (2.9, 3.0), (3.1, 0.2), (36.0, 0.2), (np.nan, 0.2)],
)
def test_a_bare_gap_excuses_what_a_resting_face_shows(own_mm, allowed):
    assert allowed_mm(profile(own_mm), Brief()) == pytest.approx([allowed])


def test_how_far_a_face_may_rest_open_is_the_briefs_to_say():
    wide = replace(Brief(), limits=replace(Limits(), lip_rest_mm=6.0))
    assert allowed_mm(profile(5.0, 5.9), wide) == pytest.approx([5.8, 6.0])


@pytest.mark.parametrize("gap_mm", [0.1, 1.0, 2.9])
def test_a_face_that_rests_a_little_open_passes_with_what_is_its_own(gap_mm):
    result = cylinders(gap_mm)
    assert status(result) == Status.PASS
    assert result.measures["closes"] == 1.0
    assert result.measures["residual_gap_mm"] == pytest.approx(gap_mm, abs=0.01)


@pytest.mark.parametrize("gap_mm", [3.2, 36.0, *(pytest.param(mm, marks=pytest.mark.slow) for mm in (5.0, 12.0))])
def test_a_mouth_that_stands_open_where_it_was_taken_for_closed_never_passes(gap_mm):
    """Both marks of the lips lie in the middle of the hole, as they do where nobody looked at them."""
    result = cylinders(gap_mm)
    assert status(result) == Status.NOT_CHECKED
    assert f"{gap_mm:.1f} mm apart" in result.reason
    for what in ("stomion_superius", "rest_deg", "with the mouth shut"):
        assert what in result.reason


@pytest.mark.parametrize("opening_mm", [34.0, *(pytest.param(mm, marks=pytest.mark.slow) for mm in (10.0, 25.0))])
def test_a_head_sculpted_open_with_marks_that_lie_never_passes(opening_mm):
    member, _ = members.sculpted_open("mean", "turn", opening_mm)
    marks = member.snapshot.landmarks
    between = 0.5 * (marks["stomion_superius"] + marks["stomion_inferius"])
    lying = replace(member.snapshot, landmarks={**marks, "stomion_superius": between, "stomion_inferius": between})
    result = dryfit.check(lying, Brief(), only=["closure"]).check("closure")
    assert result.status in (Status.NOT_CHECKED, Status.FAIL)
    assert result.measures["bare_rest_gap_mm"] > 3.0


def test_what_holds_such_a_mouth_open_still_fails():
    """The bare lips stand 4 mm apart closed; a spike on the lower row stops the jaw long before."""
    spike = Part("Lower", "lower_teeth", *peg([10, -12, 80], [10, 24.0, 80]))
    plate = Part("Upper", "upper_teeth", *box([-20, 8.0, 60], [20, 9.0, 95]))
    result = closed(mouth(spike, plate, gap_mm=4.0), hinge(OPEN_DEG))
    assert status(result) == Status.FAIL
    assert "meets" in result.findings[0].message
    assert "so closing cannot be judged" in result.reason


def test_nothing_that_is_judged_stands_beyond_its_bound_under_a_pass():
    for gap_mm in (0.1, 1.0, 2.9):
        result = cylinders(gap_mm)
        assert {"residual_gap_mm", "lips_travel_mm", "bare_rest_gap_mm"} <= set(result.judged)
        for name, bound in result.judged.items():
            assert bound.holds(float(result.measures[name])), name


def ended(way_mm, *, sealed=False):
    return Closing(profile(way_mm), None, sealed, (profile(way_mm),))


@pytest.mark.parametrize(
    ("way_mm", "sealed", "bare_mm", "verdict"),
    [
        (0.1, True, 0.1, ClosingVerdict.PASSES),
        (2.9, False, 0.1, ClosingVerdict.PASSES),
        (3.1, False, 0.1, ClosingVerdict.LOOK),
        (4.9, False, 0.1, ClosingVerdict.LOOK),
        (5.1, False, 0.1, ClosingVerdict.FAILS),
        (2.9, True, 2.9, ClosingVerdict.PASSES),
        (0.1, True, 3.1, ClosingVerdict.UNJUDGED),
        (36.0, False, 36.0, ClosingVerdict.UNJUDGED),
    ],
)
def test_what_a_closing_comes_to_hangs_on_the_way_and_on_the_bare_face(way_mm, sealed, bare_mm, verdict):
    assert closing_verdict(ended(way_mm, sealed=sealed), bare_mm, False, Limits()) == verdict


def test_verdicts_are_in_order():
    assert [each.rank for each in ClosingVerdict] == [0, 1, 2, 3]
    assert {Severity.FAIL, Severity.REVIEW, Severity.INFO} == set(Severity)
