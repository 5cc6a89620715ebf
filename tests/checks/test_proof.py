"""No figure stands beyond its limit, or unmeasured, under *pass*: one rule for every check, and in every surface."""

import json
from dataclasses import replace

import numpy as np
import pytest

import dryfit
from dryfit.checks.check import Check, LeadingFigure
from dryfit.checks.registry import CHECKS
from dryfit.checks.runner import run_fitting
from dryfit.cli import verdict_code
from dryfit.model.brief import Brief
from dryfit.model.exceptions import WrittenException
from dryfit.model.finding import Bound, Finding, Outcome, Place, Severity, Status
from dryfit.model.progress import drain
from dryfit.performer.fitting import Fitting
from dryfit.report.text import summary
from shapes import sheet, worn

LIMIT = Brief().limits.additive_tolerance_mm


@pytest.fixture(scope="module")
def snapshot():
    return worn(sheet(), sheet(20.0, 40, lambda x, y: 1.0))


def said(outcome, snapshot, exceptions=(), **changed):
    """The result of a check that says this, run as every other is."""

    def measure(fitting, brief):
        yield from ()
        return outcome

    stated = {"question": "Is it so?", "measured": (("depth_mm", "how deep"),), "method": "", "blind_spots": "",
              "limits": ("additive_tolerance_mm",),
              "leading": (LeadingFigure("depth_mm", "how deep it goes", "additive_tolerance_mm"),)}  # fmt: skip
    check = Check(id="novel", measure=measure, **(stated | changed))
    fitting = Fitting(replace(snapshot, exceptions=exceptions), Brief())
    return drain(run_fitting(fitting, known=(check,))).check("novel"), check


def finding(value, severity=Severity.REVIEW):
    return Finding(severity, "Something.", Place("Piece", (0, 0, 0), "brow"), value=value, limit=LIMIT)


@pytest.mark.parametrize("depth_mm", [0.0, LIMIT, LIMIT - 0.01])
def test_a_figure_within_its_limit_passes(snapshot, depth_mm):
    assert said(Outcome({"depth_mm": depth_mm}), snapshot)[0].status == Status.PASS


@pytest.mark.parametrize("depth_mm", [LIMIT + 0.01, 36.0, np.inf])
def test_a_figure_beyond_its_limit_is_no_pass_and_is_named(snapshot, depth_mm):
    result, _ = said(Outcome({"depth_mm": depth_mm}), snapshot)
    assert result.status == Status.REVIEW
    assert "How deep it goes" in result.findings[0].message and result.findings[0].limit == LIMIT


def test_a_figure_of_many_small_places_keeps_its_unit_and_says_where_it_is_most(snapshot):
    """It once stood as millimetres whatever it was, at the middle of the head."""
    note = Finding(Severity.INFO, "A little.", Place("Piece", (1, 2, 3), "left cheek"), 80.0, LIMIT, "J/m2")
    outcome = Outcome({"glue_j_m2": 82.8}, (replace(note, value=70.0), note), judged={"glue_j_m2": Bound(LIMIT)})
    result, _ = said(outcome, snapshot, leading=(LeadingFigure("glue_j_m2", "pull"),))
    (said_of_all,) = [each for each in result.findings if each.severity != Severity.INFO]
    assert said_of_all.unit == "J/m2" and said_of_all.region == "whole design"
    assert "most at the left cheek of Piece" in said_of_all.message and said_of_all.at_mm == (1, 2, 3)
    alone, _ = said(replace(outcome, findings=()), snapshot, leading=(LeadingFigure("glue_j_m2", "pull"),))
    assert alone.findings[0].unit == "j_m2" and "most at" not in alone.findings[0].message


@pytest.mark.parametrize("measures", [{"depth_mm": np.nan}, {"depth_mm": "deep"}])
def test_a_figure_that_was_not_measured_proves_nothing(snapshot, measures):
    result, _ = said(Outcome(measures), snapshot)
    assert result.status == Status.NOT_CHECKED and "How deep it goes could not be measured" in result.reason


def test_a_stated_bound_goes_before_the_leading_limit(snapshot):
    assert said(Outcome({"depth_mm": 0.5}, judged={"depth_mm": Bound(1.0)}), snapshot)[0].status == Status.PASS
    assert said(Outcome({"depth_mm": 0.1}, judged={"depth_mm": Bound(0.05)}), snapshot)[0].status == Status.REVIEW
    assert said(Outcome({"depth_mm": np.nan}, judged={"depth_mm": None}), snapshot)[0].status == Status.PASS
    least = {"depth_mm": Bound(1.0, at_least=True)}
    assert said(Outcome({"depth_mm": 0.5}, judged=least), snapshot)[0].status == Status.REVIEW


def test_a_bound_on_a_figure_that_is_missing_is_unmeasured(snapshot):
    assert said(Outcome({}, judged={"other_mm": Bound(1.0)}), snapshot)[0].status == Status.NOT_CHECKED


def test_what_was_found_bad_is_said_once(snapshot):
    result, _ = said(Outcome({"depth_mm": 3.0}, (finding(3.0, Severity.FAIL),)), snapshot)
    assert result.status == Status.FAIL and len(result.findings) == 1


def test_an_accepted_finding_excuses_its_own_figure_and_no_worse_one(snapshot):
    accepted = (WrittenException("novel", "Piece", "brow", "meant so"),)
    assert said(Outcome({"depth_mm": 1.0}, (finding(1.0),)), snapshot, accepted)[0].status == Status.PASS
    assert said(Outcome({"depth_mm": 2.0}, (finding(1.0),)), snapshot, accepted)[0].status == Status.REVIEW


def test_what_is_printed_beside_a_figure_is_what_judged_it(snapshot):
    outcome = Outcome({"depth_mm": 0.5}, judged={"depth_mm": Bound(1.0)})
    _, check = said(outcome, snapshot)
    report = drain(run_fitting(Fitting(snapshot, Brief()), known=(check,)))
    assert "(at most 1.00 mm)" in summary(report, [check]).replace("\xa0", " ")
    kept = json.loads(report.to_json())["checks"][0]["judged"]
    assert kept == {"depth_mm": {"value": 1.0, "at_least": False, "limit": ""}}


@pytest.mark.parametrize("fault", [ValueError("attempt to get argmin of an empty sequence"), ZeroDivisionError("0")])
def test_a_fault_in_one_check_costs_that_check(snapshot, fault):
    def measure(fitting, brief):
        yield from ()
        raise fault

    broken = Check("broken", "Is it?", measure, (), "", (), "")
    whole = next(check for check in CHECKS if check.id == "additive")
    report = drain(run_fitting(Fitting(snapshot, Brief()), known=(broken, whole)))
    assert report.check("additive").status == Status.PASS and report.verdict == Status.NOT_CHECKED
    assert "fault in Dryfit" in report.check("broken").reason and type(fault).__name__ in report.check("broken").reason
    assert report.faults == ("broken",) and verdict_code(report, "fail") == 2


def test_every_leading_limit_is_a_limit_and_of_the_figures_own_unit():
    limits = Brief().limits
    for check in CHECKS:
        for figure in check.leading:
            if figure.limit:
                assert figure.limit in check.limits and hasattr(limits, figure.limit), (check.id, figure)


def test_a_needle_under_the_skin_is_no_speck(snapshot):
    """An area too small to judge is noted; one that goes deep is looked at."""
    piece = sheet(20.0, 160, lambda x, y: 1.0)
    for depth_mm, status in ((0.5, Status.PASS), (3.0, Status.REVIEW)):
        vertices = piece[0].copy()
        middle = int(np.linalg.norm(vertices[:, :2], axis=1).argmin())
        vertices[middle, 2] = -depth_mm
        report = dryfit.check(worn(sheet(), (vertices, piece[1])), only=["additive"])
        assert report.check("additive").status == status, report.check("additive").measures
