"""The publish gate of the examples, run as a pipeline runs it: its exit codes and what it leaves behind."""

import hashlib
import importlib.util
import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from dryfit.model.snapshot_file import save_snapshot
from dryfit.report.schema import validate
from shapes import sheet, worn

GATE = Path(__file__).resolve().parents[2] / "scripts" / "examples" / "publish_gate.py"
BASE = sheet(160.0, 40)


def gate(*arguments):
    command = [sys.executable, str(GATE), *map(str, arguments), "--only", "additive"]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@pytest.fixture
def designs(tmp_path):
    rim = lambda x, y: 30 - np.maximum(abs(x), abs(y))  # noqa: E731
    dip = lambda x, y: 0.1 * rim(x, y) - 6.0 * np.clip(1 - (x**2 + y**2) / 225, 0, None)  # noqa: E731
    folder = tmp_path / "variants"
    folder.mkdir()
    save_snapshot(worn(BASE, sheet(60.0, 60, lambda x, y: 0.1 * rim(x, y))), folder / "good.npz")
    save_snapshot(worn(BASE, sheet(60.0, 60, dip)), folder / "bad.npz")
    return folder


def published(tmp_path):
    folder = tmp_path / "published"
    return sorted(path.name for path in folder.iterdir()) if folder.exists() else []


def test_a_sound_design_is_published_with_its_report(designs, tmp_path):
    done = gate(designs / "good.npz", tmp_path / "published")
    assert done.returncode == 0, done.stderr
    assert published(tmp_path) == ["good.npz", "good.report.json"]
    assert (tmp_path / "published/good.npz").read_bytes() == (designs / "good.npz").read_bytes()
    validate(json.loads((tmp_path / "published/good.report.json").read_text("utf8")))
    assert done.stdout.startswith("published ") and done.stdout.count("\n") == 1


def test_a_failing_design_is_held_back(designs, tmp_path):
    done = gate(designs / "bad.npz", tmp_path / "published")
    assert (done.returncode, published(tmp_path), done.stdout) == (1, [], "")
    assert "bad.npz: held back" in done.stderr and "mm" in done.stderr


def test_what_cannot_be_used_ends_with_2(designs, tmp_path):
    (designs / "torn.npz").write_bytes(b"PK not a snapshot")
    for name in ("absent.npz", "torn.npz"):
        done = gate(designs / name, tmp_path / "published")
        assert (done.returncode, published(tmp_path)) == (2, []), done.stderr
        assert "cannot be used" in done.stderr


def test_a_brief_moves_the_gate(designs, tmp_path):
    (tmp_path / "show.toml").write_text("[limits]\nadditive_tolerance_mm = 9.0\n")
    done = gate(designs / "bad.npz", tmp_path / "published", "--brief", tmp_path / "show.toml")
    assert done.returncode == 0, done.stderr


def test_a_folder_is_published_whole_or_not_at_all(designs, tmp_path):
    done = gate(designs, tmp_path / "published")
    assert (done.returncode, published(tmp_path)) == (1, [])
    (designs / "bad.npz").write_bytes(b"PK not a snapshot")
    done = gate(designs, tmp_path / "published")
    assert (done.returncode, published(tmp_path)) == (2, [])
    (designs / "bad.npz").unlink()
    done = gate(designs, tmp_path / "published")
    assert done.returncode == 0, done.stderr
    assert published(tmp_path) == ["good.npz", "good.report.json"]


def test_what_was_not_answered_is_held_back_where_it_is_asked_for(designs, tmp_path):
    out = tmp_path / "published"
    lacking = gate(designs / "good.npz", out, "--require", "additive,closure")
    assert (lacking.returncode, published(tmp_path)) == (1, [])
    assert "required, but not answered: closure: it was not run" in lacking.stderr
    assert gate(designs / "good.npz", out, "--require", "additive").returncode == 0


def test_the_brief_is_published_beside_the_design(designs, tmp_path):
    (designs / "brief.toml").write_text("[limits]\nadditive_tolerance_mm = 9.0\n")
    assert gate(designs / "bad.npz", tmp_path / "published").returncode == 0
    assert published(tmp_path) == ["bad.brief.toml", "bad.npz", "bad.report.json"]
    assert (tmp_path / "published/bad.brief.toml").read_text() == (designs / "brief.toml").read_text()


def test_a_folder_in_which_a_file_changed_meanwhile_is_not_published_at_all(designs, tmp_path, monkeypatch, capsys):
    spec = importlib.util.spec_from_file_location("publish_gate", GATE)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    digest = hashlib.sha256((designs / "good.npz").read_bytes()).hexdigest()
    good = {"variant": {"sha256": digest}, "inputs": {"brief": ""}, "verdict": "pass"}
    changed = {**good, "variant": {"sha256": "0" * 64}}
    measured = [(designs / "good.npz", good), (designs / "bad.npz", changed)]
    assert module.publish(measured, tmp_path / "published") == module.UNUSABLE
    assert published(tmp_path) == [] and "nothing is published" in capsys.readouterr().err
    assert module.publish(measured[:1], tmp_path / "published") == module.PUBLISHED
    assert published(tmp_path) == ["good.npz", "good.report.json"]
