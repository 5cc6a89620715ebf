"""Reports that version 0.1.0 wrote: validated, compared and put on a board as they are."""

import json
from pathlib import Path

import pytest

import dryfit
from dryfit.batch.page import index_pages
from dryfit.batch.row import kept_row
from dryfit.cli import main
from dryfit.model.version import VERSION
from dryfit.report.schema import validate

KEPT = Path(__file__).parent / "written_by_0_1_0"
VERDICTS = {"01-warden-plain": "pass", "02-warden-tusks": "fail", "06-warden-bronze": "review"}


def report(name):
    return json.loads((KEPT / name / "report.json").read_text("utf8"))


@pytest.mark.parametrize("name", VERDICTS)
def test_they_are_of_that_version_and_valid_to_this_one(name):
    assert VERSION != report(name)["dryfit"] == "0.1.0"
    assert report(name)["verdict"] == VERDICTS[name]
    validate(report(name))


def test_two_of_them_compare():
    changed = dryfit.compare(KEPT / "01-warden-plain", KEPT / "02-warden-tusks")
    assert (changed.same_base, changed.same_design) == (True, False)
    assert {("closure", "pass", "fail"), ("interference", "pass", "fail")} <= {
        (flip.check, flip.before, flip.after) for flip in changed.flips
    }


def test_the_command_line_compares_them_and_writes_the_page(tmp_path, capsys):
    revisions = [str(KEPT / name / "report.json") for name in ("01-warden-plain", "06-warden-bronze")]
    assert main(["compare", *revisions, "--out", str(tmp_path), "--fail-on", "review"]) == 1
    assert "06-warden-bronze" in capsys.readouterr().out
    assert "06-warden-bronze" in (tmp_path / "comparison.html").read_text("utf8")


def test_a_board_shows_their_rows():
    rows = [kept_row(KEPT / name) for name in VERDICTS]
    assert {row.name: row.verdict for row in rows} == VERDICTS
    ((_, page),) = index_pages(rows, KEPT, complete=True)
    places = [page.index(f'data-name="{name}"') for name in ("02-warden-tusks", "06-warden-bronze", "01-warden-plain")]
    assert places == sorted(places), "worst first"
    assert rows[1].worst.split(",")[0] in page
