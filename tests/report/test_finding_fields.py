"""A finding's fields, added up: what JSON, schema, page and terminal make of each of them."""

import json
from dataclasses import fields
from datetime import UTC, datetime

import numpy as np
import pytest

from dryfit.model.brief import Brief
from dryfit.model.finding import Finding, Place, Severity
from dryfit.model.report import BESIDE_JSON, GROUPED
from dryfit.report.schema import report_schema, validate
from dryfit.report.text import summary
from worn_sphere import check, finding, report, result

IN_JSON = {"at_mm": "at_mm", "motion": "pose.motion", "t": "pose.t", "kind": "elements.kind", "elements": "elements"}
"""Fields whose place in JSON is not their own name."""
SAID = {
    "message": ("Cap dips a long way.", "Cap dips a long way."),
    "object": ("Cap", "Cap"),
    "region": ("nose tip", "nose tip"),
    "at_mm": ((1.5, -2.5, 98.5), "1.5, -2.5, 98.5"),
    "value": (1.75, "1.75"),
    "limit": (0.25, "0.25"),
    "unit": ("mm", "mm"),
    "fix": ("lift the nose tip by 1.75 mm", "lift the nose tip by 1.75 mm"),
    "exception": ("agreed with the shop", "Accepted because: agreed with the shop"),
    "severity": (Severity.INFO, "Note"),
}
"""What people read: a field -> a value for it, and how that stands in words."""
NOT_SAID = {"motion", "t", "kind", "elements", "remedy", "remedy_mm", "cause"}
"""For programs: the pose of the place, what to paint, which fix the sidebar offers, and what has one cause."""


def leaves():
    """Every field of a finding, its place taken apart."""
    return [entry.name for entry in (*fields(Finding), *fields(Place)) if entry.name != "place"]


def stated(**changed):
    values = {name: value for name, (value, _) in SAID.items()}
    return finding(**(values | {"motion": "jaw", "t": 0.5, "kind": "faces", "elements": np.arange(7)} | changed))


def as_json(found):
    layout = json.loads(report(results=[result(findings=[found])]).to_json())
    assert validate(layout)
    return layout["checks"][0]["findings"][0]


def at(layout, path):
    for step in path.split("."):
        layout = layout[step]
    return layout


def test_every_field_is_in_json_or_kept_beside_it():
    layout = as_json(stated())
    own = {IN_JSON.get(name, name).split(".")[0] for name in leaves() if name not in BESIDE_JSON}
    assert set(layout) == own | {"id"}
    assert set(GROUPED) | set(BESIDE_JSON) <= {entry.name for entry in fields(Finding)}


def test_json_holds_each_value():
    layout = as_json(stated())
    for name, (value, _) in SAID.items():
        assert at(layout, IN_JSON.get(name, name)) == (list(value) if isinstance(value, tuple) else value)
    assert layout["pose"] == {"motion": "jaw", "t": 0.5}
    assert layout["elements"] == {"kind": "faces", "count": 7}


def test_the_schema_knows_exactly_what_is_written():
    layout, known = as_json(stated()), report_schema()["$defs"]["finding"]
    assert set(known["properties"]) == set(layout)
    assert known["additionalProperties"] is False
    for group in ("pose", "elements"):
        assert set(known["properties"][group]["properties"]) == set(layout[group])
    assert known["properties"]["severity"]["enum"] == list(Severity)


def test_every_field_is_said_or_for_programs():
    assert sorted([*SAID, *NOT_SAID]) == sorted(leaves())


def test_page_and_terminal_say_what_people_read():
    pytest.importorskip("jinja2")
    from dryfit.report.page import page_html

    accepted, standing = stated(), stated(exception=None, severity=Severity.REVIEW)
    told = report(results=[result(findings=[accepted, standing])])
    text = " ".join(summary(told, [check()], ascii_signs=False).split())
    page = page_html(told, [check()], (), Brief(), datetime(2026, 11, 25, tzinfo=UTC))
    for name, (_, words) in SAID.items():
        assert words in text, name
        assert words in page or name == "severity", name
    assert "Accepted" in page
    assert "Review" in page
