import pytest

from dryfit.checks.registry import check_named
from dryfit.model.finding import Status
from dryfit.model.limits import Limits
from dryfit.model.measure_units import unit_of
from dryfit.report.explain import explain
from dryfit.report.figures import key_figures
from dryfit.report.text import summary
from dryfit.report.verdict import first_sentence
from dryfit.report.wording import measure_name, measure_said, with_unit
from worn_sphere import check, finding, report, result, worn_sphere


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (2.5149, "mm", "2.51 mm"),
        (-0.001, "mm", "0.00 mm"),
        (212.04, "mm2", "212.0 mm²"),
        (12345.6, "mm3", "12 346 mm³"),
        (0.268, "fraction", "26.8 %"),
        (13.05, "deg", "13.1°"),
        (4, "count", "4"),
        (float("nan"), "mm", "not measured"),
        (None, "mm", "not measured"),
    ],
)
def test_figures_are_said_with_their_unit(value, unit, words):
    said = with_unit(value, unit)
    assert said.replace("\u202f", " ").replace("\u00a0", " ") == words


@pytest.mark.parametrize(
    ("measure", "unit", "name"),
    [
        ("max_depth_mm", "mm", "max depth"),
        ("residual_gap_mm_left", "mm", "residual gap left"),
        ("moment_n_cm", "n_cm", "moment"),
        ("exposed_fraction", "fraction", "exposed"),
        ("closes", "", "closes"),
        ("patch_count", "count", "patch"),
        ("piece_mass_g.BrowBark", "g", "piece mass BrowBark"),
        ("display_height_mm_view_-60", "mm", "display height view -60"),
        ("contact_t", "t", "contact"),
    ],
)
def test_a_measure_name_carries_its_unit(measure, unit, name):
    assert (unit_of(measure), measure_name(measure)) == (unit, name)


def test_yes_and_no_are_said_as_such():
    assert [measure_said("closes", value, yes_no=True) for value in (0, 1)] == ["no", "yes"]
    closure = check_named("closure")
    told = key_figures(result("closure", measures={"closes": 0.0, "residual_gap_mm": 3.0}), closure)
    assert [figure.said.replace("\u00a0", " ") for figure in told] == ["no", "3.00 mm"]
    assert closure.says_yes_or_no("axis_5mm_flips")


def test_the_summary_begins_with_the_verdict_and_has_a_line_for_each_check():
    lines = summary(report(), [check()], ascii_signs=True).splitlines()
    assert lines[0].startswith("FAIL  ") and "nose tip is 1.5 mm inside" in lines[0]
    assert "Warden, still sphere" in lines
    assert any(line.startswith("Fail") and "max_depth_mm 1.50 mm (at most 0.20 mm, practice)" in line for line in lines)
    assert any(line.startswith("Not checked") and "There are no teeth." in line for line in lines)
    assert any("To mend it: lift 400 mm2" in line for line in lines)
    assert lines[-1] == "Caution: Ask the performer."
    assert max(map(len, lines)) <= 96


def test_the_plain_summary_is_ascii_whatever_the_names():
    text = summary(report(worn_sphere("Wächter № 7")), [check()], ascii_signs=True)
    assert text.isascii()
    assert "mm2" in text


def test_an_accepted_finding_is_said_to_be():
    accepted = result(findings=[finding(exception="it is a mask")], status=Status.PASS)
    text = summary(report(results=[accepted]), [])
    assert "Fail (accepted)" in text
    assert "Accepted because: it is a mask" in text
    assert "with 1 finding accepted in writing" in first_sentence(report(results=[accepted]), [check()])


def test_the_first_sentence_says_what_was_not_answered():
    assert "1 question not answered: closing mouth." in first_sentence(report(), [check()])
    assert first_sentence(report(results=[]), [check()]) == "Nothing was asked yet."


def test_an_explanation_says_what_how_against_what_and_what_not():
    text = explain(check(), Limits(additive_tolerance_mm=0.25), ascii_signs=True)
    for words in (
        "additive: Is the appliance everywhere outside the base?",
        "max_depth_mm: greatest depth below the base",
        "Signed distance.",
        "additive_tolerance_mm = 0.25 mm",
        "why: scan noise",
        "source: common practice, no source",
        "It cannot feel.",
        "Ask the performer.",
    ):
        assert words in text
    assert text.isascii()
