import copy
import json

import pytest

from dryfit.model.finding import Severity, Status
from dryfit.report.schema import InvalidReport, report_schema, validate
from worn_sphere import finding, report, result

jsonschema = pytest.importorskip("jsonschema")


def changed(path, value):
    layout = json.loads(report().to_json())
    place = layout
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    return layout


def test_the_schema_itself_is_one():
    jsonschema.Draft202012Validator.check_schema(report_schema())
    assert report_schema()["properties"]["schema"]["const"] == "dryfit.report/1"


@pytest.mark.parametrize("layout", [report(), report(results=()), report(results=[result(status=Status.PASS)])])
def test_reports_obey_it_as_values_and_as_read_back(layout):
    assert validate(layout.to_dict())
    assert validate(json.loads(layout.to_json()))


def test_figures_that_could_not_be_had_are_null():
    layout = report(results=[result(findings=[finding(value=float("nan"), limit=float("nan"))])]).to_dict()
    assert layout["checks"][0]["findings"][0]["value"] is None
    assert validate(layout)


def test_a_failure_may_say_what_else_could_not_be_measured_and_a_pass_may_not():
    assert validate(changed(["checks", 0, "reason"], "the lids could not be judged: no landmarks"))
    layout = report(results=[result(status=Status.PASS)]).to_dict()
    layout["checks"][0]["reason"] = "the lids could not be judged: no landmarks"
    with pytest.raises(InvalidReport, match="checks"):
        validate(layout)


def test_measures_are_open_and_inputs_may_grow():
    assert validate(changed(["checks", 0, "measures", "something_new_mm"], 3.0))
    assert validate(changed(["inputs", "camera"], "left"))


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (["extra"], 1),
        (["schema"], "dryfit.report/2"),
        (["verdict"], "fine"),
        (["variant", "colour"], "red"),
        (["variant", "sha256"], "xyz"),
        (["base", "lock"], "maybe"),
        (["base", "max_change_mm"], -1),
        (["checks", 0, "seconds"], "long"),
        (["checks", 1, "reason"], ""),
        (["checks", 0, "measures", "max_depth_mm"], [1]),
        (["checks", 0, "findings", 0, "at_mm"], [1, 2]),
        (["checks", 0, "findings", 0, "elements", "kind"], "edges"),
        (["checks", 0, "findings", 0, "id"], "additive-0"),
        (["checks", 0, "curves", "thickness_by_distance", "x"], None),
        (["limits", "contact_mm"], 0.05),
    ],
)
def test_anything_else_is_refused_and_the_place_is_named(path, value):
    layout = changed(path, value)
    with pytest.raises(InvalidReport) as refused:
        validate(layout)
    assert str(path[-2] if len(path) > 1 and not isinstance(path[-2], int) else path[0]) in str(refused.value)


@pytest.mark.parametrize("key", ["verdict", "checks", "limits"])
def test_nothing_may_be_missing(key):
    layout = copy.deepcopy(report().to_dict())
    del layout[key]
    with pytest.raises(InvalidReport, match=key):
        validate(layout)


def test_a_verdict_milder_than_the_worst_check_is_refused():
    with pytest.raises(InvalidReport, match="worst check is 'fail'"):
        validate(changed(["verdict"], "pass"))


def test_curves_of_unequal_length_are_refused():
    with pytest.raises(InvalidReport, match="2 x values for 3 y values"):
        validate(changed(["checks", 0, "curves", "thickness_by_distance", "x"], [0, 1]))


def test_every_severity_is_a_word_of_the_schema():
    for severity in Severity:
        status = {"fail": Status.FAIL, "review": Status.REVIEW, "info": Status.PASS}[severity]
        assert validate(report(results=[result(findings=[finding(severity=severity)], status=status)]).to_dict())
