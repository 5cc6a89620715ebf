"""A folder of variants: one bad file costs only itself, and nothing is written outside the output."""

import csv
import json
import os
import shutil
import signal
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest

from dryfit.batch.batch import batch_tasks, run_batch
from dryfit.batch.comparison import compare
from dryfit.batch.comparison_words import told
from dryfit.batch.local import finished_here
from dryfit.batch.revision import read_report
from dryfit.batch.task import Task, measure
from dryfit.batch.variant_files import report_folders, sharded
from dryfit.model.progress import drain
from dryfit.model.snapshot import Snapshot
from dryfit.model.snapshot_file import save_snapshot
from shapes import sheet, worn

BASE = sheet(160.0, 20)
ODD_NAME = "=cmd ' \" <script>alert(1)</script>"


def design(depth_mm, name):
    dip = lambda x, y: 0.1 * (30 - np.maximum(abs(x), abs(y))) - depth_mm * (x**2 + y**2 < 200)  # noqa: E731
    plain = worn(BASE, sheet(60.0, 40, dip))
    return Snapshot(name, parts=plain.parts)


@pytest.fixture
def folder(tmp_path):
    place = tmp_path / "variants"
    place.mkdir()
    save_snapshot(design(0.0, "good"), place / "good.npz")
    save_snapshot(design(6.0, "bad"), place / "bad.npz")
    save_snapshot(design(0.0, ODD_NAME), place / "été = +1 'q'.npz")
    (place / "torn.npz").write_bytes(b"PK not a zip")
    (place / "notes.txt").write_text("no variant")
    return place


def run(folder, out, **options):
    tasks = batch_tasks(folder, None, out, only=("additive",), pictures=False, **options)
    return drain(run_batch(tasks, finished_here(tasks, 2, 120.0, 0), out))


def test_every_variant_gets_its_row_and_a_bad_file_costs_only_itself(folder, tmp_path):
    out = tmp_path / "out"
    batch = run(folder, out)
    verdicts = {row.source: row.verdict for row in batch.rows}
    assert verdicts == {"bad.npz": "fail", "good.npz": "pass", "torn.npz": "unusable", "été = +1 'q'.npz": "pass"}
    assert batch.complete
    stored = json.loads((out / "batch.json").read_text(encoding="utf8"))
    assert stored["schema"] == "dryfit.batch/1"
    assert [entry["source"] for entry in stored["variants"]] == sorted(verdicts)
    torn = next(row for row in batch.rows if row.verdict == "unusable")
    assert "not a Dryfit snapshot" in torn.reason


def test_names_can_neither_leave_the_output_nor_run_anywhere(folder, tmp_path):
    out = tmp_path / "out"
    run(folder, out)
    assert {path.name for path in tmp_path.iterdir()} == {"variants", "out"}
    page = (out / "index.html").read_text(encoding="utf8")
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)" in page
    for line in csv.reader((out / "batch.csv").read_text(encoding="utf8").splitlines()):
        assert not any(cell.startswith(("=", "+", "@")) for cell in line)
    hostile = [
        Path("a/../../x.npz"),
        Path("..npz"),
        Path("-rf.npz"),
        Path("index.html.npz"),
        Path("a b.npz"),
        Path("a_b.npz"),
    ]
    names = list(report_folders(hostile).values())
    assert len(set(names)) == len(names)
    assert all(Path(name).name == name and not name.startswith(".") for name in names)


def test_resuming_redoes_only_what_changed(folder, tmp_path):
    out = tmp_path / "out"
    run(folder, out)
    before = {path: path.stat().st_mtime_ns for path in out.glob("*/report.json")}
    save_snapshot(design(4.0, "good"), folder / "good.npz")
    batch = run(folder, out, resume=True)
    changed = {path.parent.name for path, then in before.items() if path.stat().st_mtime_ns != then}
    assert changed == {"good"}
    assert {row.source: row.verdict for row in batch.rows}["good.npz"] == "fail"


def test_two_runs_agree_in_the_compared_body(folder, tmp_path):
    for name in ("one", "two"):
        run(folder, tmp_path / name)
    assert body(tmp_path / "one") == body(tmp_path / "two")


def test_all_figures_of_the_reports_stand_in_the_tables_and_the_leading_ones_in_memory(folder, tmp_path):
    batch = run(folder, tmp_path)
    for row, line, variant in zip(batch.rows, csv_lines(tmp_path), body(tmp_path), strict=True):
        if not row.folder:
            continue
        checks = json.loads((tmp_path / row.folder / "report.json").read_text(encoding="utf8"))["checks"]
        figures = {f"{check['id']}.{name}": value for check in checks for name, value in check["measures"].items()}
        assert variant["measures"] == figures
        assert {name: line[name] for name in figures} == {name: str(value) for name, value in figures.items()}
        assert 0 < len(row.measures) <= len(checks) < len(figures)
        assert row.measures.items() <= figures.items()


def body(out):
    return json.loads((out / "batch.json").read_text(encoding="utf8"))["variants"]


def csv_lines(out):
    with (out / "batch.csv").open(encoding="utf8", newline="") as lines:
        return list(csv.DictReader(lines))


def test_a_variant_that_takes_too_long_is_stopped(folder, tmp_path):
    tasks = batch_tasks(folder, None, tmp_path / "out", only=("additive",), pictures=False)
    rows = [row for _, row in finished_here(tasks, 2, 0.001, 0) if row.source != "torn.npz"]
    assert len(rows) == 3
    assert all("took longer" in row.reason for row in rows), rows


@contextmanager
def open_to_interrupts():
    """Let processes started here be interrupted, also where a shell started this one in the background, deaf to it."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


@pytest.mark.parametrize("by", ["Ctrl-C at a terminal", "a queue manager"])
def test_an_interrupt_leaves_a_valid_partial_result_and_resume_the_rest(folder, tmp_path, by):
    count = 150
    for number in range(count):
        shutil.copy(folder / "good.npz", folder / f"more{number:03}.npz")
    out = tmp_path / "out"
    command = [sys.executable, "-m", "dryfit", "batch", folder, "--out", out, "--only", "additive", "--jobs", "2"]
    with open_to_interrupts():
        process = subprocess.Popen(
            ["nice", "-n", "19", *map(str, command), "--no-pictures"],  # so that a busy machine still interrupts in time
            stderr=subprocess.PIPE, start_new_session=True, text=True,
        )  # fmt: skip
    told = [process.stderr.readline() for _ in range(8)]  # a line for each variant that is measured
    assert all(told), told
    if by == "a queue manager":
        process.send_signal(signal.SIGTERM)
    else:
        os.killpg(process.pid, signal.SIGINT)  # a terminal sends it to workers too
    errors = process.stderr.read()
    assert process.wait() == 130
    assert "Traceback" not in errors
    stored = json.loads((out / "batch.json").read_text(encoding="utf8"))
    assert not stored["complete"]
    assert 0 < len(stored["variants"]) < count
    assert not {row["reason"] for row in stored["variants"] if row["source"] != "torn.npz"} - {""}
    assert "Not finished" in (out / "index.html").read_text(encoding="utf8")
    assert not list(out.rglob("*.part"))
    done = {row["folder"]: (out / row["folder"] / "report.json").stat().st_mtime_ns for row in stored["variants"]}
    whole = run(folder, out, resume=True)
    assert whole.complete
    assert len(whole.rows) == count + 4
    assert all((out / name / "report.json").stat().st_mtime_ns == then for name, then in done.items() if name)


def test_shards_cover_every_variant_once(folder):
    files = tuple(Path(f"{number}.npz") for number in range(7))
    parts = [sharded(files, number, 3) for number in (1, 2, 3)]
    assert sorted(path for part in parts for path in part) == sorted(files)
    assert max(map(len, parts)) - min(map(len, parts)) <= 1


def test_shards_joined_by_resuming_are_what_one_run_gives(folder, tmp_path):
    for number in (1, 2, 3):
        run(folder, tmp_path / "shards", shard=(number, 3))
    measured = {path: path.stat().st_mtime_ns for path in (tmp_path / "shards").glob("*/report.json")}
    run(folder, tmp_path / "shards", resume=True)
    run(folder, tmp_path / "whole")
    assert body(tmp_path / "shards") == body(tmp_path / "whole")
    assert len(measured) == 3
    assert all(path.stat().st_mtime_ns == then for path, then in measured.items())
    tables = [(tmp_path / place / "batch.csv").read_bytes() for place in ("shards", "whole")]
    assert tables[0] == tables[1]


def test_a_comparison_names_flips_and_moves_beyond_repeatability(tmp_path):
    rows = []
    for number, depth in enumerate((0.0, 5.0)):
        save_snapshot(design(depth, "warden"), tmp_path / f"{number}.npz")
        task = Task(str(tmp_path / f"{number}.npz"), "", str(tmp_path), f"r{number}", ("additive",), pictures=False)
        rows.append(measure(task))
    first, second = read_report(tmp_path / "r0"), read_report(tmp_path / "r1")
    step = compare(first, second)
    assert [(flip.check, flip.before, flip.after) for flip in step.flips] == [("additive", "pass", "fail")]
    assert step.flips[0].worse
    assert step.same_base
    assert not step.same_design
    assert "max_depth_mm" in {move.measure for move in step.moves}
    assert "pass -> fail (worse)" in told(step)
    same = compare(first, first)
    assert same.same_design
    assert not same.flips
    assert not same.moves
