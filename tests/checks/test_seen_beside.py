"""No check passes beside something that is seen near the face and was not measured, whatever it is."""

from dataclasses import replace

import numpy as np
import pytest

import dryfit
from dryfit.model.finding import Severity, Status
from dryfit.model.unmeasured import Unmeasured
from dryfit.performer.seen_near import NEAR_MM
from shapes import sheet, worn

WHY = "it has no role; give it one, or the role ignore"


def checked(*heights_mm, points=None, only=("additive",)):
    """A piece that passes, beside things that stand so high over the middle of the base."""
    beside = [
        Unmeasured(f"Horn {number}", "mesh", WHY, np.array([[0.0, 0.0, height]]) if points is None else points)
        for number, height in enumerate(heights_mm)
    ]
    snapshot = replace(worn(sheet(), sheet(20.0, 40, lambda x, y: 1.0)), unmeasured=tuple(beside))
    return dryfit.check(snapshot, only=list(only))


def test_alone_it_passes():
    assert checked().verdict == Status.PASS


@pytest.mark.parametrize("height_mm", [2.0, NEAR_MM - 0.01])
def test_beside_what_is_near_it_is_to_be_looked_at_and_says_what_and_how_near(height_mm):
    report = checked(height_mm)
    assert report.verdict == Status.REVIEW
    (finding,) = report.check("additive").findings
    assert finding.severity == Severity.REVIEW
    assert "'Horn 0' (mesh)" in finding.message and WHY in finding.message
    assert finding.value == pytest.approx(height_mm)
    assert finding.fix == "give it one, or the role ignore"


def test_what_is_far_is_noted_and_holds_nothing_back():
    report = checked(NEAR_MM + 0.01)
    assert report.verdict == Status.PASS
    assert any("Not measured: 'Horn 0'" in note and "not near the face" in note for note in report.inputs["notes"])


def test_the_nearest_is_named_and_the_others_counted():
    (finding,) = checked(9.0, 3.0, 5.0).check("additive").findings
    assert "'Horn 1'" in finding.message and "So are 2 others" in finding.message
    (finding,) = checked(9.0, 3.0).check("additive").findings
    assert "So is 'Horn 0'" in finding.message


def test_a_broken_place_hides_none_of_the_others():
    broken = np.array([[np.nan, 0.0, 0.0], [0.0, 0.0, 4.0], [np.inf, 1.0, 1.0]])
    (finding,) = checked(0.0, points=broken).check("additive").findings
    assert finding.value == pytest.approx(4.0)


def test_a_failure_stays_one_and_the_base_alone_is_not_held_back():
    sunk = replace(
        worn(sheet(), sheet(20.0, 40, lambda x, y: -1.0)),
        unmeasured=(Unmeasured("Horn", "mesh", WHY, np.array([[0.0, 0.0, 2.0]])),),
    )
    result = dryfit.check(sunk, only=["additive"]).check("additive")
    assert result.status == Status.FAIL
    assert not any("Horn" in finding.message for finding in result.findings)
    assert not any(
        "Horn" in finding.message for finding in checked(2.0, only=["base_lock"]).check("base_lock").findings
    )
