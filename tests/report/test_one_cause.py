"""What comes of one thing is counted once and told once; what else comes of it points at that."""

from datetime import UTC, datetime

import pytest

from dryfit.checks.causes import causes
from dryfit.model.brief import Brief
from dryfit.model.finding import Severity
from dryfit.report.schema import validate
from dryfit.report.text import summary
from dryfit.report.verdict import first_sentence
from worn_sphere import check, finding, report, result

TUSK = "the left tusk against the upper teeth as the jaw closes"


def told(**changed):
    """A tusk that two checks speak of, and a rim of its own."""
    first = finding(cause=TUSK, **changed)
    other = finding(cause=TUSK, message="The same tusk runs 3.5 mm in.", severity=Severity.REVIEW, fix="cut the tusk")
    return report(results=[result("closure", [first]), result("interference", [other, finding(message="A rim.")])])


def test_the_first_that_stands_tells_of_the_others():
    assert told().told_by() == {"interference-1": "closure-1"}
    assert told(exception="meant so").told_by() == {}, "what was accepted tells of nothing that was not"
    assert told(severity=Severity.INFO).told_by() == {}


def test_one_cause_is_one_thing_to_change():
    found = causes(told().to_dict())
    assert [[each.id for each in cause.findings] for cause in found] == [
        ["closure-1", "interference-1"],
        ["interference-2"],
    ]
    excused = causes(told(exception="meant so").to_dict())
    assert [[each.id for each in cause.findings] for cause in excused] == [["interference-2"], ["interference-1"]]
    assert "1 more cause asks for a look" in first_sentence(told(exception="meant so"), [check()])


def test_the_terminal_says_where_it_is_told():
    text = " ".join(summary(told(), [check("closure"), check("interference")], ascii_signs=False).split())
    assert text.count("Same cause as closure-1.") == 1
    assert text.index("The same tusk") < text.index("Same cause")


def test_the_page_lists_one_row_for_one_cause():
    pytest.importorskip("jinja2")
    pytest.importorskip("matplotlib")
    from dryfit.report.page import page_html

    page = page_html(told(), [check()], (), Brief(), datetime(2026, 11, 25, tzinfo=UTC))
    todo = page[page.index('id="todo"') : page.index('id="checks"')]
    assert "Cut the tusk" not in todo
    assert todo.count('<li id="step-') == 2
    assert page.count('Part of <a href="#step-1">step 1</a>') == 2


def test_json_carries_the_cause_and_the_schema_knows_it():
    layout = told().to_dict()
    assert validate(layout)
    assert [found["cause"] for each in layout["checks"] for found in each["findings"]] == [TUSK, TUSK, ""]
