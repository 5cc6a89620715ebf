"""A verdict says what landmarks it rests on: impossible ones stop it, proposed ones keep it from passing."""

from dataclasses import replace

import numpy as np
import pytest

from dryfit.checks.check import Check
from dryfit.checks.registry import CHECKS
from dryfit.checks.runner import run_fitting
from dryfit.model.brief import Brief
from dryfit.model.finding import Finding, Outcome, Place, Severity, Status
from dryfit.model.progress import drain
from dryfit.model.snapshot import LANDMARKS as KNOWN
from dryfit.performer.fitting import Fitting
from dryfit.performer.grounds import rests_on
from public_head import sculpted_open
from worn_sphere import LANDMARKS, worn_sphere


def said(snapshot, findings=(), names=("pupil_left",)):
    def measure(fitting, brief):
        yield from ()
        return Outcome({"depth_mm": 0.0}, findings)

    check = Check("novel", "Is it so?", measure, (("depth_mm", "how deep"),), "", (), "", landmarks=names)
    return drain(run_fitting(Fitting(snapshot, Brief()), known=(check,))).check("novel")


def test_every_named_landmark_is_known():
    for check in CHECKS:
        assert set(check.landmarks) <= set(KNOWN), check.id


def test_what_rests_on_confirmed_landmarks_passes():
    snapshot = replace(worn_sphere(), landmarks={"pupil_left": np.array([0.0, -50.0, 0.0])})
    assert said(snapshot).status == Status.PASS


def test_a_proposed_landmark_keeps_an_answer_from_passing_and_is_named():
    marks = {"pupil_left": np.array([0.0, -50.0, 0.0])}
    snapshot = replace(worn_sphere(), landmarks=marks, proposed={"pupil_left": 6.0})
    result = said(snapshot)
    assert result.status == Status.REVIEW
    assert "pupil_left may be off by 6.0 mm" in result.findings[0].message and result.findings[0].value == 6.0
    assert said(snapshot, names=("sellion",)).status == Status.PASS


def test_a_failure_on_proposed_landmarks_stays_one_and_says_so():
    marks = {"pupil_left": np.array([0.0, -50.0, 0.0])}
    snapshot = replace(worn_sphere(), landmarks=marks, proposed={"pupil_left": 6.0})
    result = said(snapshot, (Finding(Severity.FAIL, "Bad.", Place("Cap", (0, 0, 0), "brow"), 1.0, 0.5),))
    assert result.status == Status.FAIL
    assert [finding.severity for finding in result.findings] == [Severity.FAIL, Severity.INFO]


@pytest.mark.parametrize("factor", [10.0, 0.001])
def test_pupils_where_no_head_has_them_stop_what_is_built_on_them(factor):
    snapshot = sculpted_open()
    middle = snapshot.base.vertices_mm.mean(axis=0)
    marks = dict(snapshot.landmarks)
    for side in ("left", "right"):
        pupil = 0.5 * (marks[f"endocanthion_{side}"] + marks[f"exocanthion_{side}"])
        marks[f"pupil_{side}"] = middle + factor * (pupil - middle)
    result = said(replace(snapshot, landmarks=marks))
    assert result.status == Status.NOT_CHECKED
    assert "pupil_left" in result.reason and "dryfit landmarks" in result.reason
    assert said(replace(snapshot, landmarks=marks), names=("alare_left",)).status == Status.PASS


def test_a_jaw_on_a_hinge_rests_on_the_hinges_landmarks():
    fitting = Fitting(sculpted_open(), Brief())
    assert "tragion_left" in rests_on(fitting, (), True) and not rests_on(fitting, (), False)
    assert not rests_on(Fitting(worn_sphere(), Brief()), tuple(set(KNOWN) - set(LANDMARKS)), False)


def test_a_check_that_lacks_landmarks_says_how_to_get_them():
    report = drain(run_fitting(Fitting(replace(sculpted_open(), landmarks={}), Brief()), ("closure", "additive")))
    assert "dryfit landmarks FILE" in report.check("closure").reason
    assert "dryfit landmarks" not in report.check("additive").reason
