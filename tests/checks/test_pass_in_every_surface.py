"""Whatever a check hands back, no surface prints a judged figure beyond its limit, or unknown, under *pass*.

The outcomes are random and the checks are all there are, with their own limits; what is read back is the text, the
JSON and the page as users have them.
"""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from dryfit.checks.registry import CHECKS
from dryfit.checks.runner import run_fitting
from dryfit.model.brief import Brief
from dryfit.model.exceptions import WrittenException
from dryfit.model.finding import Bound, Finding, Outcome, Place, Severity, Status
from dryfit.model.progress import drain
from dryfit.performer.fitting import Fitting
from printed_figures import beyond_in_json, excused, page_of_pass, printed, text_of_pass, wrong
from shapes import sheet, worn

FIGURES = st.one_of(
    st.floats(-5.0, 200.0),
    st.sampled_from([math.nan, math.inf, -math.inf, 0.0, 0.2, 0.2000001, 0.21, 0.3, 1.0, 5.0, 5.01, 30.0, 29.99]),
)
SNAPSHOT = worn(sheet(steps=4), sheet(20.0, 4, lambda x, y: 1.0))


@st.composite
def outcomes(draw):
    """A check, what it hands back, and what the brief accepts of it."""
    check = draw(st.sampled_from(CHECKS))
    names = [figure.measure for figure in check.leading]
    measures = {name: draw(FIGURES) for name in names if draw(st.integers(0, 9))}
    bounds = st.builds(Bound, st.floats(-1.0, 50.0), st.booleans())
    judged = {name: draw(st.one_of(bounds, st.none())) for name in [*names, "other_mm"] if not draw(st.integers(0, 4))}
    findings = tuple(
        Finding(draw(st.sampled_from(Severity)), "Something.", Place("Piece", (0, 0, 0), "brow"), value=draw(FIGURES))
        for _ in range(draw(st.integers(0, 2)))
    )
    reason = draw(st.sampled_from(["", "", "", "It could not be looked at."]))
    accepted = draw(st.sampled_from([(), (WrittenException(check.id, "Piece", "brow", "meant so"),)]))
    return check, Outcome(measures, findings, judged=judged, reason=reason), accepted


def reported(check, outcome, accepted=()):
    """The report of a check that hands this back, and the check."""

    def measure(fitting, brief):
        yield from ()
        return outcome

    stand_in = replace(check, measure=measure)
    fitting = Fitting(replace(SNAPSHOT, exceptions=accepted), Brief())
    return drain(run_fitting(fitting, known=(stand_in,))), stand_in


def test_figures_are_read_back_as_they_are_printed():
    said = "Pass  closure  residual_gap_mm 1\u202f234.50\xa0mm (at most 5.00 mm, chosen); opening 34.08 mm (at least 30.00 mm)"
    assert [*printed(said)] == [("1234.50", "at most", "5.00"), ("34.08", "at least", "30.00")]
    assert [wrong(*each) for each in printed(said)] == [True, False]


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_what_a_pass_prints_is_read_back(check):
    """Each check with its limits just met: a pass, whose figures every surface shows beside their limits."""
    limits = Brief().limits
    judged = [figure for figure in check.leading if figure.limit]
    measures = {figure.measure: 1.0 for figure in check.leading}
    measures |= {figure.measure: float(getattr(limits, figure.limit)) for figure in judged}
    report, stand_in = reported(check, Outcome(measures))
    assert report.checks[0].status == Status.PASS
    text, page = [*printed(text_of_pass(report, stand_in))], [*printed(page_of_pass(report, [stand_in]))]
    assert len(text) == len(judged)
    assert len(page) == min(len(judged), 1)  # a row of the page says the figure that decided
    assert not any(wrong(*each) for each in (*text, *page))


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_a_check_that_measured_nothing_proves_nothing(check):
    assert reported(check, Outcome())[0].checks[0].status == Status.NOT_CHECKED


@pytest.mark.parametrize("check", [each for each in CHECKS if any(figure.limit for figure in each.leading)],
                         ids=lambda check: check.id)  # fmt: skip
def test_each_judged_figure_alone_can_hold_a_pass_back(check):
    """Each one in turn beyond its limit, unknown, without end, or left out; all others well within theirs."""
    limits = Brief().limits
    good = {each.measure: (1e9 if each.at_least else -1e9) if each.limit else 1.0 for each in check.leading}
    assert reported(check, Outcome(good))[0].checks[0].status == Status.PASS
    for figure in (each for each in check.leading if each.limit):
        limit = float(getattr(limits, figure.limit))
        over = limit - 0.02 - 0.01 * abs(limit) if figure.at_least else limit + 0.02 + 0.01 * abs(limit)
        assert reported(check, Outcome(good | {figure.measure: over}))[0].checks[0].status == Status.REVIEW
        endless = good | {figure.measure: math.inf if figure.at_least else -math.inf}
        without = {k: v for k, v in good.items() if k != figure.measure}
        for lost in (good | {figure.measure: math.nan}, endless, without):
            assert reported(check, Outcome(lost))[0].checks[0].status == Status.NOT_CHECKED


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(outcomes())
@example((CHECKS[4], Outcome({"residual_gap_mm": 36.0, "closes": 1.0, "max_opening_mm": 40.0}), ()))
def test_no_surface_prints_a_figure_beyond_its_limit_under_pass(asked):
    report, check = reported(*asked)
    result = report.checks[0]
    stated = json.loads(report.to_json())["checks"][0]
    assert stated["status"] == result.status == report.verdict
    if result.status != Status.PASS:
        assert not text_of_pass(report, check)
        return
    assert not result.reason and all(each.severity == Severity.INFO or each.exception for each in result.findings)
    known = [result.measures.get(name, np.nan) for name in result.judged]
    assert not any(isinstance(figure, str) or math.isnan(figure) for figure in known)
    if not excused(report):
        assert [*beyond_in_json(stated)] == []
        assert [each for each in printed(text_of_pass(report, check)) if wrong(*each)] == []
        assert all(bound.holds(result.measures[name]) for name, bound in result.judged.items())


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(outcomes())
def test_nor_does_the_page(asked):
    report, check = reported(*asked)
    shown = page_of_pass(report, [check])
    assert bool(shown) == (report.verdict == Status.PASS)
    if not excused(report):
        assert [each for each in printed(shown) if wrong(*each)] == []
