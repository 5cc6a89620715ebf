"""A batch against what was approved: what each row says, when it is asked again, and when it cannot be told."""

import csv
import json
from dataclasses import replace

import pytest
from test_comparison import bumped, warden

from dryfit.batch.approved import ITSELF, ApprovedRevisions, change_of
from dryfit.batch.batch import Batch, write_batch
from dryfit.batch.revision import Revision
from dryfit.batch.task import Task, content_key, measure
from dryfit.cli import main
from dryfit.model.snapshot_file import save_snapshot

ONLY = ("additive", "thickness")


@pytest.fixture
def folder(tmp_path):
    save_snapshot(warden(), tmp_path / "plain.npz")
    save_snapshot(warden(bumped(3.0)), tmp_path / "bump.npz")
    return tmp_path


def row_of(folder, name, approved):
    held = str(folder / approved) if approved else ""
    return measure(
        Task(str(folder / f"{name}.npz"), "", str(folder / "out"), name, ONLY, pictures=False, approved=held)
    )


def test_the_approved_one_itself_is_known_and_the_other_differs_by_what_was_added(folder):
    itself, bump = (row_of(folder, name, "plain.npz") for name in ("plain", "bump"))
    assert (itself.against, itself.change, itself.change_mm) == ("approved", ITSELF.words, 0.0)
    assert bump.against == "no"
    assert 2.5 < bump.change_mm < 3.2
    assert "stands out by" in bump.change


def test_a_report_will_do_for_the_approved_one(folder):
    row_of(folder, "plain", "")
    by_report = row_of(folder, "bump", "out/plain")
    assert by_report.change == row_of(folder, "bump", "plain.npz").change
    assert by_report.change_mm == pytest.approx(row_of(folder, "bump", "plain.npz").change_mm)


def test_an_approved_one_that_cannot_be_read_is_never_called_unchanged(folder):
    (folder / "torn.npz").write_bytes(b"PK no zip")
    row = row_of(folder, "bump", "torn.npz")
    assert row.verdict != "unusable"
    assert row.against == "unknown"
    assert "torn.npz" in row.change
    assert row.change_mm is None


def test_reports_without_shapes_are_unknown_where_no_figure_moved(folder):
    reports = {"before": warden(), "after": warden()}
    rows = {name: row_of(folder, "plain", "") for name in reports}
    report = json.loads((folder / "out" / "plain" / "report.json").read_text(encoding="utf8"))
    bare = {**report, "variant": {**report["variant"], "sha256": ""}}
    change = change_of(Revision(bare, without="its design is gone"), Revision(bare, without="its design is gone"))
    assert rows and change.answer == "unknown"
    assert change.most_mm is None
    assert "its design is gone" in change.words


def test_another_base_is_said(folder):
    design = warden()
    base = replace(design.base, vertices_mm=design.base.vertices_mm * 1.02)
    save_snapshot(replace(design, parts=(base, *design.parts[1:])), folder / "other.npz")
    assert row_of(folder, "other", "plain.npz").change.startswith("It sits on another base")


def test_the_result_is_kept_only_while_the_approved_one_is_the_same(folder):
    task = Task(str(folder / "bump.npz"), "", str(folder / "out"), "bump", ONLY, approved=str(folder / "plain.npz"))
    before = content_key(task)
    assert before != content_key(replace(task, approved=""))
    save_snapshot(warden(bumped(1.0)), folder / "plain.npz")
    assert content_key(task) != before


def test_the_approved_one_is_read_once_and_again_when_it_changed(folder):
    kept = ApprovedRevisions()
    first = kept.revision(folder / "plain.npz", "", ONLY)
    assert kept.revision(folder / "plain.npz", "", ONLY) is first
    save_snapshot(warden(bumped(1.0)), folder / "plain.npz")
    assert kept.revision(folder / "plain.npz", "", ONLY) is not first


def test_the_tables_carry_it(folder):
    rows = [row_of(folder, name, "plain.npz") for name in ("plain", "bump")]
    write_batch(Batch(tuple(rows), True), folder / "out")
    with (folder / "out" / "batch.csv").open(encoding="utf8", newline="") as stream:
        lines = list(csv.DictReader(stream))
    assert [line["against_approved"] for line in lines] == ["approved", "no"]
    assert float(lines[1]["change_mm"]) == rows[1].change_mm
    variants = json.loads((folder / "out" / "batch.json").read_text(encoding="utf8"))["variants"]
    assert [variant["change"] for variant in variants] == [row.change for row in rows]


def test_the_command_line_says_it_and_refuses_what_is_not_there(folder, capsys):
    asked = ["batch", str(folder), "--out", str(folder / "out"), "--only", "additive", "--no-pictures", "--jobs", "1"]
    assert main([*asked, "--approved", str(folder / "gone.npz")]) == 2
    assert "gone.npz" in capsys.readouterr().err
    assert main([*asked, "--fail-on", "never", "--approved", str(folder / "plain.npz")]) == 0
    said = capsys.readouterr().out
    assert "Against the approved one: This one was approved." in said
    page = (folder / "out" / "index.html").read_text(encoding="utf8")
    assert "<dt>Approved</dt><dd>plain.npz</dd>" in page
