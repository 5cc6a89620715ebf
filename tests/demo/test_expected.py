"""What the checks find in the designs, against what is known from how they were made."""

import functools

import pytest

from demo_reports import whole_report
from dryfit.checks.registry import CHECKS
from dryfit.demo_door import demo_module

pytestmark = pytest.mark.slow

DESIGNS = tuple(demo_module("wardens").DESIGNS)


@functools.cache
def expected():
    return demo_module("expectations").expected_figures()


def ran(name):
    return {check.id for check in whole_report(name).checks}


@pytest.mark.parametrize("name", DESIGNS)
def test_statuses(name):
    found = {check.id: str(check.status) for check in whole_report(name).checks}
    for check, allowed in expected()[name]["statuses"].items():
        assert found[check] in allowed, (check, whole_report(name).check(check).reason)


@pytest.mark.parametrize("name", DESIGNS)
def test_figures(name):
    wrong = []
    for figure in expected()[name]["figures"]:
        if figure["check"] not in ran(name):
            continue
        value = whole_report(name).check(figure["check"]).measures[figure["measure"]]
        if value != pytest.approx(figure["value"], abs=figure["tolerance"] + 1e-9):
            wrong.append((figure["check"], figure["measure"], value, figure["value"], figure["tolerance"]))
    assert not wrong


@pytest.mark.parametrize("name", DESIGNS)
def test_findings_name_the_fault(name):
    for fault in expected()[name]["named"]:
        findings = whole_report(name).check(fault["check"]).findings
        assert any(finding.object == fault["object"] and fault["says"] in finding.message for finding in findings), [
            finding.message for finding in findings
        ]


@pytest.mark.parametrize("name", DESIGNS)
def test_only_the_stated_fault_is_found(name):
    """Every finding above a note belongs to a check that the design is meant to fail."""
    allowed = {check for check, statuses in expected()[name]["statuses"].items() if statuses != ["pass"]}
    for check in whole_report(name).checks:
        if check.id in expected()[name]["statuses"] and check.id not in allowed:
            assert not [finding.message for finding in check.findings if finding.severity != "info"]


@pytest.mark.parametrize("name", DESIGNS)
def test_a_check_paints_only_what_it_says_it_may(name):
    declared = {check.id: {field for field, _ in check.painted} for check in CHECKS}
    painted = {check.id: {field.name for field in check.fields} for check in whole_report(name).checks}
    assert any(painted.values())
    assert {check: fields - declared[check] for check, fields in painted.items() if fields - declared[check]} == {}
