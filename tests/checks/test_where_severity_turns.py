"""Each figure just short of its limit and just beyond it: which word the finding stands under, and with which limit.

The figures are handed to what says the words, so that nothing but the comparison decides.
"""

from dataclasses import replace

import numpy as np
import pytest

from dryfit.checks.breath import airway
from dryfit.checks.breath.mouth_opening import MouthOpening
from dryfit.checks.casting import load
from dryfit.checks.casting.load import Lever
from dryfit.checks.casting.worn_mass import Shared, WornMass
from dryfit.checks.eyes import blink
from dryfit.checks.eyes.lid_contact import LidMeeting
from dryfit.geometry.solids import Bulk
from dryfit.model.brief import Brief
from dryfit.model.limits import Limits
from dryfit.performer.fitting import Fitting
from dryfit.performer.nostrils import Nostril
from dryfit.performer.ways_out import WaysOut
from shapes import sheet, worn

LIMITS = Limits()
FITTING = Fitting(worn(sheet(steps=4), sheet(20.0, 4, lambda x, y: 1.0)), Brief())
PIECE = FITTING.snapshot.part("Piece")
UP = np.array([0.0, 0.0, 1.0])
LITTLE = 1e-3


def said(findings):
    """What a few findings come to: severity and limit of each."""
    return [(str(each.severity), each.limit) for each in findings]


def least(low, review):
    """Figures about two limits that should not be undercut, with what is said of each."""
    return [
        (review + LITTLE, None), (review - LITTLE, ("review", review)), (low + LITTLE, ("review", review)),
        (low - LITTLE, ("fail", low)), (0.0, ("fail", low)),
    ]  # fmt: skip


def most(review, high):
    """Figures about two limits that should not be exceeded, with what is said of each."""
    return [
        (0.0, None), (review - LITTLE, None), (review + LITTLE, ("review", review)), (high - LITTLE, ("review", review)),
        (high + LITTLE, ("fail", high)),
    ]  # fmt: skip


@pytest.mark.parametrize(("left", "word"), least(LIMITS.mouth_open_area, LIMITS.mouth_open_area_review))
def test_what_the_open_mouth_leaves(left, word):
    opening = MouthOpening(800.0 * left, 800.0, np.zeros(3))
    assert said(airway._mouth_finding(opening, (PIECE,), FITTING, LIMITS)) == ([word] if word else [])


@pytest.mark.parametrize("bare_mm2", [0.0, float("nan")])
def test_of_a_bare_mouth_that_does_not_open_nothing_is_said(bare_mm2):
    assert said(airway._mouth_finding(MouthOpening(0.0, bare_mm2, np.zeros(3)), (PIECE,), FITTING, LIMITS)) == []


def breathing(left, way_out=1.0):
    nostril = Nostril("left", np.array([0, 1]), UP, 60.0, False)
    return nostril, WaysOut(left, np.array([1.0 - left]), way_out, np.array([1.0 - way_out]))


@pytest.mark.parametrize(("left", "word"), least(LIMITS.nostril_open, LIMITS.nostril_open_review)[1:])
def test_what_is_left_of_a_nostril(left, word):
    (finding,) = airway._nostril_finding(*breathing(left), (PIECE,), FITTING, LIMITS)
    assert (finding.severity, finding.limit) == word and finding.fix.startswith("cut Piece back")


def test_a_nostril_that_is_hardly_covered_is_noted_and_nothing_is_to_be_done():
    (finding,) = airway._nostril_finding(*breathing(LIMITS.nostril_open_review + LITTLE), (PIECE,), FITTING, LIMITS)
    assert finding.severity == "info" and not finding.fix


@pytest.mark.parametrize(
    ("left", "word"), [(LIMITS.way_out_review, []), (LIMITS.way_out_review - LITTLE, ["review"]), (LITTLE, ["review"]),
                       (0.0, ["fail"]), (float("nan"), [])]
)  # fmt: skip
def test_what_encloses_nose_and_mouth(left, word):
    measured = airway.Airway({"left": breathing(1.0, left)}, None, (), ())
    found = airway._way_out_finding(measured, (PIECE,), FITTING, LIMITS)
    assert [str(each.severity) for each in found] == word


def weighed(mass_g=100.0, part=PIECE):
    return WornMass(part, Bulk(1000.0 * mass_g, np.zeros(3)), 1.0, 1000.0 * mass_g, True)


@pytest.mark.parametrize(("moment", "word"), most(LIMITS.head_moment_review_n_cm, LIMITS.head_moment_n_cm))
@pytest.mark.parametrize(("left_mm", "side"), [(5.0, "left"), (-5.0, "right")])
def test_what_pulls_on_the_neck(moment, word, left_mm, side):
    found = [*load._moment(Lever(10.0, left_mm, 0.0, moment, 0.0), weighed(), FITTING, LIMITS)]
    assert said(found) == ([word] if word else [])
    assert all(f"5 mm to the {side}" in each.message for each in found)


@pytest.mark.parametrize(("mass_g", "word"), most(LIMITS.head_mass_review_g, LIMITS.head_mass_g))
def test_what_the_design_weighs(mass_g, word):
    found = load._findings([weighed(mass_g)], None, FITTING, LIMITS, None)
    assert said(found) == ([word] if word else [])


def test_soft_mass_is_that_of_appliances_alone():
    horn = replace(PIECE, name="Horn", role="hardware")
    assert load._measures([weighed(100.0), weighed(30.0, horn)], None)["soft_mass_g"] == pytest.approx(100.0)


@pytest.mark.parametrize(
    ("roles", "share", "severity", "words"),
    [
        (("appliance", "appliance"), load.DOUBLED + LITTLE, "review", "there twice"),
        (("appliance", "appliance"), load.DOUBLED - LITTLE, "info", ""),
        (("appliance", "hardware"), 1.0, "info", ""),
        (("upper_teeth", "lower_teeth"), 0.1, "info", "stands under interference"),
        (("upper_teeth", "hardware"), 0.1, "info", ""),
    ],
)
def test_what_is_counted_once(roles, share, severity, words):
    one, other = (replace(PIECE, name=f"Part {role}", role=role) for role in roles)
    finding = load._counted_once(Shared(one, other, Bulk(500.0, np.zeros(3)), share), FITTING)
    assert finding.severity == severity and words in finding.message
    assert finding.message.endswith(f"as {other.name}.") != bool(words)
    assert bool(finding.fix) == (severity == "review")


def closing(over_mm=0.0, bare_mm=0.0):
    meeting = LidMeeting(0.5, PIECE, "Scan", np.zeros(3), np.array([0]), True)
    return blink.Blink("left", 1.0, bare_mm, bare_mm + over_mm, meeting, np.zeros((2, 2)), np.zeros(3), None)


LIDS = most(LIMITS.lid_gap_review_mm, LIMITS.lid_gap_mm)


@pytest.mark.parametrize(("over_mm", "word"), [(0.0, None), (LIMITS.lid_gap_review_mm - LITTLE, "info"), *LIDS[2:]])
@pytest.mark.parametrize("bare_mm", [0.0, 1.0])
def test_what_keeps_lids_apart(over_mm, word, bare_mm):
    word = ("info", LIMITS.lid_gap_review_mm) if word == "info" else word
    assert said(blink._gap(closing(over_mm, bare_mm), FITTING, LIMITS)) == ([word] if word else [])


def test_lids_that_stay_apart_by_themselves_are_held_against_that():
    shut, apart = blink._bound(closing(bare_mm=blink.SEALED_MM), LIMITS), blink._bound(closing(bare_mm=1.0), LIMITS)
    assert (shut.value, shut.limit) == (LIMITS.lid_gap_mm, "lid_gap_mm")
    assert (apart.value, apart.limit) == (1.0 + LIMITS.lid_gap_mm, "")


class Closing:
    """Lids whose gap is known at every t."""

    def __init__(self, gap_mm):
        self.gap_mm = gap_mm


@pytest.mark.parametrize("meet_t", [0.113, 0.5, 0.87])
def test_lids_meet_where_their_gap_ends_and_not_at_the_step_after(meet_t):
    gap = lambda t: max(meet_t - t, 0.0) * 10.0 + (blink.SEALED_MM if t < meet_t else 0.0)  # noqa: E731
    coarse = np.array([[t, gap(t)] for t in np.linspace(0.0, 1.0, 6)])
    assert blink._meet_t(Closing(gap), coarse) == pytest.approx(meet_t, abs=2.0 * blink.PRECISION_T)

