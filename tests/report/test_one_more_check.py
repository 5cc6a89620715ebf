"""Adding a check is one file and one line in the registry: what is said and shown of it stands with it."""

import json
import re
from datetime import UTC, datetime

import pytest

from dryfit.batch.leading import leading_row
from dryfit.batch.row import row_of
from dryfit.checks.check import Check, LeadingFigure, PlotLine, Plotted
from dryfit.checks.registry import CHECKS
from dryfit.checks.runner import UnknownCheck, run_fitting
from dryfit.model.admission import admit
from dryfit.model.brief import Brief
from dryfit.model.finding import Curve, Finding, Outcome, Severity
from dryfit.model.progress import Progress, drain
from dryfit.performer.fitting import Fitting
from dryfit.report.explain import explain
from dryfit.report.text import summary
from worn_sphere import result, worn_sphere


def measure_hair(fitting, brief):
    """A made-up check: how much hair stands out, one finding and a curve."""
    yield Progress(0, 1, "counting hair")
    place = fitting.place(fitting.base.name, fitting.base.vertices_mm[0])
    return Outcome(
        measures={"stray_mm": 7.0, "matted": 1.0, "other_mm": 2.0},
        findings=(Finding(Severity.REVIEW, "Hair stands out by 7.0 mm.", place, 7.0, 3.0),),
        curves={"stray_by_hour": Curve((0.0, 1.0), (2.0, 7.0), "hours worn", "stray hair, mm")},
    )


HAIR = Check(
    id="hair",
    question="Does the hair stay put?",
    measure=measure_hair,
    measured=(("stray_mm", "longest stray hair, mm"),),
    method="Hair is counted.",
    limits=("rim_thickness_mm",),
    blind_spots="Wind.",
    caution="Ask before you cut hair.",
    leading=(
        LeadingFigure("matted", "hair is matted"),
        LeadingFigure("stray_mm", "longest stray hair", "rim_thickness_mm"),
    ),
    plots=(
        Plotted("stray_by_hour", "Hair through the day", (PlotLine("y", "rim_thickness_mm", "as thick as a rim"),)),
    ),
    yes_no=("matted",),
)
REGISTRY = (*CHECKS, HAIR)


@pytest.fixture(scope="module")
def told():
    """What one check of a copy of the registry said."""
    return drain(run_fitting(Fitting(admit(worn_sphere()), Brief()), ["hair"], REGISTRY))


def flat(text):
    return " ".join(text.replace("\u00a0", " ").split())


def test_it_is_run_by_its_name(told):
    (answer,) = told.checks
    assert (answer.id, answer.status) == ("hair", "review")
    assert answer.numbered()[0][0] == "hair-1"
    with pytest.raises(UnknownCheck, match="hair"):
        drain(run_fitting(Fitting(worn_sphere(), Brief()), ["beard"], REGISTRY))


def test_the_terminal_knows_it(told):
    words = flat(summary(told, REGISTRY, ascii_signs=False))
    assert "matted yes" in words
    assert "stray_mm 7.00 mm (at most 0.30 mm, practice)" in words
    assert "Hair stands out by 7.0 mm." in words
    assert "Caution: Ask before you cut hair." in words


def test_explain_knows_it():
    words = flat(explain(HAIR))
    assert "hair: Does the hair stay put?" in words
    assert "rim_thickness_mm = 0.30 mm" in words


def test_the_page_knows_it(told):
    pytest.importorskip("jinja2")
    from dryfit.report.page import page_html

    page = flat(page_html(told, REGISTRY, (), Brief(), datetime(2026, 11, 25, tzinfo=UTC)))
    for words in ("Does the hair stay put?", "longest stray hair", "Hair through the day"):
        assert words.lower() in page.lower()
    assert "as thick as a rim: 0.30 mm" in page
    assert 'class="disc">N1<' in page, "the letter of the fourteenth check"


def test_the_board_knows_it(told, tmp_path):
    pytest.importorskip("jinja2")
    from dryfit.batch.page import RANK, index_pages

    (tmp_path / "one").mkdir()
    (tmp_path / "one" / "report.json").write_text(json.dumps(told.to_dict()), encoding="utf8")
    row = leading_row(row_of(told, "one", "one.npz", "one", "", 1.0, 1.0, {}), REGISTRY)
    assert row.measures == {"hair.stray_mm": 7.0}, "the first figure that is held against a limit"
    ((_, page),) = index_pages([row], tmp_path, True, REGISTRY)
    held = json.loads(re.search(r'id="held">(.*?)</script>', page)[1])
    rank = float(re.search(r'data-hair="([^"]+)"', page)[1])
    assert RANK["review"] - 0.5 < rank < held["passing"] < RANK["pass"], "the sieve of what fails lets it through"
    assert "7.00 mm" in flat(page)


def test_a_curve_can_be_laid_over_other_variants(told, tmp_path):
    pytest.importorskip("jinja2")
    from dataclasses import replace

    from dryfit.batch.page import index_pages

    (tmp_path / "one").mkdir()
    (tmp_path / "one" / "report.json").write_text(json.dumps(told.to_dict()), encoding="utf8")
    row = row_of(told, "one", "one.npz", "one", "", 1.0, 1.0, {})
    compared = replace(HAIR, plots=(replace(HAIR.plots[0], compared=True),))
    for check, shown in ((HAIR, False), (compared, True)):
        ((_, page),) = index_pages([row], tmp_path, True, (*CHECKS, check))
        assert ("Hair through the day" in page) == shown


def test_no_check_of_the_registry_is_without_a_leading_figure():
    for check in CHECKS:
        assert check.leading_figure is not None, check.id
        names = {name for names, _ in check.measured for name in names.split(", ")}
        for figure in check.leading:
            assert any(figure.measure.startswith(name.rstrip(".")) for name in names), f"{check.id}: {figure.measure}"


def test_a_check_unknown_to_the_page_shows_its_first_figures():
    from dryfit.report.figures import key_figures

    figures = key_figures(result("novel", measures={"a_mm": 1, "b_mm": 2, "c_mm": 3, "d_mm": 4}))
    assert [figure.measure for figure in figures] == ["a_mm", "b_mm", "c_mm"]
