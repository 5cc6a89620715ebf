"""A mouth shut by a hinge whose slide is not known: the answer and the lower lip's place are bounded over slides."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from test_bite_and_over_closing import PLATE_Y, sculpted_open
from test_closure_closed_forms import OPEN_DEG, closed, contact_angle_deg, spiked

import dryfit
from dryfit.checks.closure.hinge_trials import hinge_trials
from dryfit.model.brief import Brief
from dryfit.model.finding import Severity, Status
from dryfit.model.progress import drain
from dryfit.performer.closing import closed_mouth
from family import members
from family.truth import lip_gap
from mouth_shapes import FRONT, hinge, known_mouth, turned_yz

SLIDING = hinge(OPEN_DEG, 1.5)
NOTHING_OFF = {"slide_sensitivity": 0.0, "axis_sensitivity_mm": 0.0}


def with_limits(brief, **limits):
    return replace(brief, limits=replace(brief.limits, **limits))


@cache
def on_a_sliding_hinge(*tips):
    """A jaw that only turned open, shut by a hinge that also slides."""
    return closed(sculpted_open(*tips), SLIDING)


def test_the_lower_lips_true_place_lies_within_its_bounds():
    """The spike meets the plate on the way the jaw came; where the lip is then is a turn's closed form."""
    figures = on_a_sliding_hinge(9.5, 8.7).measures
    still_deg = contact_angle_deg([9.5, 80.0], PLATE_Y)
    true_mm = FRONT - turned_yz([0.0, FRONT], still_deg)[1]
    assert figures["lower_lip_behind_low_mm"] < true_mm < figures["lower_lip_behind_high_mm"]
    assert figures["lower_lip_behind_low_mm"] <= figures["lower_lip_behind_mm"] <= figures["lower_lip_behind_high_mm"]
    assert abs(figures["lower_lip_behind_mm"] - true_mm) > 2.0, "the slide that this jaw never made"


def test_both_ends_are_said():
    outcome = on_a_sliding_hinge(9.5, 8.7)
    low, high = (outcome.measures[f"lower_lip_behind_{end}_mm"] for end in ("low", "high"))
    said = next(each.message for each in outcome.findings if "open on the base" in each.message)
    assert f"{abs(low):.1f} mm {'behind' if low >= 0 else 'ahead of'}" in said
    assert f"{abs(high):.1f} mm {'behind' if high >= 0 else 'ahead of'}" in said


def test_without_slide_a_trial_is_the_closing_on_a_jaw_that_only_turns():
    fitting = known_mouth(sculpted_open(9.5, 8.7), SLIDING)
    trials = [trial for trial in drain(hinge_trials(drain(closed_mouth(fitting)))) if not trial.of_axis]
    turning = closed(sculpted_open(9.5, 8.7), hinge(OPEN_DEG)).measures
    assert [trial.change.slides for trial in trials] == [0.0, 2.0]
    assert trials[0].change.words == "with no slide"
    assert trials[0].gap_mm == pytest.approx(turning["residual_gap_mm"], abs=0.05)
    assert trials[0].behind_mm == pytest.approx(turning["lower_lip_behind_mm"], abs=0.05)


def test_the_slide_has_its_figures_and_none_where_it_is_known_or_there_is_none():
    names = {"slide_gap_low_mm", "slide_gap_high_mm", "slide_flips"}
    slides = closed(spiked(17.5), SLIDING).measures
    assert names <= set(slides)
    assert slides["slide_gap_low_mm"] <= slides["residual_gap_mm"] <= slides["slide_gap_high_mm"]
    assert not names & set(closed(spiked(17.5), with_limits(SLIDING, slide_sensitivity=0.0)).measures)
    assert not names & set(closed(spiked(17.5), hinge(OPEN_DEG)).measures)


def test_half_as_unsure_a_slide_is_tried_half_as_far():
    fitting = known_mouth(spiked(17.5), with_limits(SLIDING, slide_sensitivity=0.5, axis_sensitivity_mm=0.0))
    trials = drain(hinge_trials(drain(closed_mouth(fitting))))
    assert [trial.change.words for trial in trials] == ["with 0.5 times the slide", "with 1.5 times the slide"]


@pytest.mark.parametrize(
    ("path", "opening_mm"),
    [("condyles", 25.0), pytest.param("condyles", 10.0, marks=pytest.mark.slow),
     pytest.param("turn", 25.0, marks=pytest.mark.slow), pytest.param("slide", 34.0, marks=pytest.mark.slow)],
)  # fmt: skip
def test_a_head_sculpted_open_is_bounded_and_never_passes_on_a_slide_nobody_knows(path, opening_mm):
    member, made = members.sculpted_open("mean", path, opening_mm)
    result = dryfit.check(member.snapshot, Brief(), only=["closure"]).check("closure")
    true = lip_gap(made.shut).behind_mm
    low, high = (result.measures[f"lower_lip_behind_{end}_mm"] for end in ("low", "high"))
    assert low <= true[len(true) // 2] <= high
    assert result.status == Status.REVIEW
    told = [each for each in result.findings if "hangs on the jaw's slide" in each.message]
    assert [each.severity for each in told] == [Severity.REVIEW]
    assert told[0].message.count("mm left") == 1 and told[0].message.count("it passes") >= 1


@cache
def with_less_slide(*tips):
    return closed(sculpted_open(*tips), with_limits(hinge(OPEN_DEG, 2.5), lip_reach_mm=5.0))


def test_a_failure_that_another_slide_takes_away_is_to_be_reviewed():
    """As found the lips stay out of reach; on a jaw that slides less they reach."""
    outcome = with_less_slide(11.4, 9.0)
    assert outcome.measures["lips_travel_mm"] > 5.0 and outcome.measures["slide_flips"] == 1.0
    assert {each.severity for each in outcome.findings} == {Severity.REVIEW, Severity.INFO}
    told = next(each for each in outcome.findings if "hangs on the jaw's slide" in each.message)
    way_mm = outcome.measures["lips_travel_mm"]
    assert f"as found it fails, with {way_mm:.1f} mm left" in told.message
    assert f"it is to be looked at, with {told.value:.1f} mm" in told.message and told.value < 5.0


def test_a_failure_stays_one_where_no_hinge_does_better():
    """Twice the slide would leave the bare lips apart as well: that says nothing of the design."""
    outcome = with_less_slide(12.0, 9.0)
    assert outcome.measures["slide_flips"] == 1.0
    assert outcome.findings[0].severity == Severity.FAIL


def test_with_nothing_to_doubt_a_failure_is_one():
    alone = closed(sculpted_open(11.4, 9.0), with_limits(hinge(OPEN_DEG, 2.5), lip_reach_mm=5.0, **NOTHING_OFF))
    assert alone.findings[0].severity == Severity.FAIL
    more = {name for name in alone.measures if name.startswith(("axis_", "slide_", "lower_lip_behind_"))}
    assert more == {"lower_lip_behind_mm"} and np.isfinite(alone.measures["lower_lip_behind_mm"])
