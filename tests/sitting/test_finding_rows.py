"""A finding as a row of the sidebar's list: every field goes in and comes out again."""

import math
from dataclasses import fields

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.model.finding import Finding, Place, Severity  # noqa: E402
from dryfit.model.report import BESIDE_JSON  # noqa: E402
from dryfit.sitting.finding_columns import fill_row, finding_of_row, finding_properties  # noqa: E402
from worn_sphere import report, result  # noqa: E402

ELEMENTS = np.array([3, 5, 8])
FULL = Finding(
    severity=Severity.REVIEW,
    message="Cap is wide.",
    place=Place("Cap", (1.0, 2.0, 3.0), "chin", "jaw", 0.25),
    value=1.5,
    limit=0.5,
    unit="mm2",
    kind="faces",
    elements=ELEMENTS,
    fix="shorten it",
    exception="agreed",
    remedy="shorten",
    remedy_mm=0.75,
)
BARE = Finding(Severity.INFO, "Cap is there.", Place("Cap", (0.0, 0.0, 0.0), "chin"), 2.0, elements=ELEMENTS)


def entry_of(found):
    """The finding as a report's JSON has it."""
    return report(results=[result(findings=[found])]).to_dict()["checks"][0]["findings"][0]


def row_of(scene, found):
    row = scene.dryfit.findings.add()
    beside = {name: getattr(found, name) for name in BESIDE_JSON}
    fill_row(row, "additive", entry_of(found), beside, bpy.data.objects["CheekBark"])
    return row


def same(one, other):
    for entry in fields(Finding):
        before, after = getattr(one, entry.name), getattr(other, entry.name)
        both_nan = isinstance(before, float) and math.isnan(before) and math.isnan(after)
        assert both_nan or np.array_equal(before, after), entry.name
    return True


@pytest.mark.parametrize("found", [FULL, BARE], ids=["full", "bare"])
def test_what_goes_in_comes_out(checked, found):
    row = row_of(checked.scene, found)
    assert same(found, finding_of_row(row, ELEMENTS))
    assert (row.name, row.check, row.count) == ("additive-1", "additive", 3)
    assert row.subject == bpy.data.objects["CheekBark"]
    assert row.limited == (found is FULL)


def test_a_figure_that_could_not_be_had_does_not_stop_the_list(checked):
    row = checked.scene.dryfit.findings.add()
    fill_row(row, "additive", entry_of(FULL) | {"value": None, "at_mm": [None, 1.0, 2.0]}, {}, None)
    assert row.value == 0.0
    assert tuple(row.at_mm) == (0.0, 1.0, 2.0)
    assert math.isnan(row.remedy_mm)


def test_every_field_has_a_column():
    columns = set(finding_properties())
    names = {entry.name for entry in (*fields(Finding), *fields(Place))} - {"place", "elements", "object"}
    assert names | {"part", "subject", "count"} <= columns
