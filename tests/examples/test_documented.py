"""Every Python example of the pipeline's page, run as it stands."""

import doctest
import re
from pathlib import Path

import numpy as np
import pytest

import dryfit
from dryfit.checks.registry import CHECKS
from dryfit.cli import main
from dryfit.model.gate import AT_RENDER, RENDER_CHOICES
from dryfit.model.snapshot_file import save_snapshot
from shapes import sheet, worn

PAGE = Path(__file__).resolve().parents[2] / "scripts" / "examples" / "pipeline.md"
BASE = sheet(160.0, 40)


@pytest.fixture
def show(tmp_path, monkeypatch):
    """A folder of variants and a brief, as the page speaks of them."""
    rim = lambda x, y: 30 - np.maximum(abs(x), abs(y))  # noqa: E731
    dip = lambda x, y: 0.1 * rim(x, y) - 6.0 * np.clip(1 - (x**2 + y**2) / 225, 0, None)  # noqa: E731
    (tmp_path / "variants").mkdir()
    save_snapshot(worn(BASE, sheet(60.0, 60, lambda x, y: 0.1 * rim(x, y))), tmp_path / "variants/warden-plain.npz")
    save_snapshot(worn(BASE, sheet(60.0, 60, dip)), tmp_path / "variants/warden-hollow.npz")
    (tmp_path / "variants/warden-torn.npz").write_bytes(b"PK not a snapshot")
    (tmp_path / "show.toml").write_text("[limits]\nadditive_tolerance_mm = 9.0\n")
    monkeypatch.chdir(tmp_path)


def test_every_python_example_runs_and_says_what_the_page_says(show):
    text = PAGE.read_text("utf8")
    examples = doctest.DocTestParser().get_doctest(text, {}, "pipeline.md", str(PAGE), 0)
    assert len(examples.examples) > 25
    said = []
    result = doctest.DocTestRunner(verbose=False).run(examples, out=said.append)
    assert result.failed == 0, "".join(said)


def test_every_name_of_the_python_door_is_documented_with_its_errors():
    for name in dryfit.__all__:
        entry = getattr(dryfit, name)
        if callable(entry) and not isinstance(entry, type):
            assert entry.__doc__, name


def test_the_page_names_the_checks_options_and_choices_that_there_are(capsys):
    text = PAGE.read_text("utf8")
    known = {check.id for check in CHECKS}
    for row in re.findall(r"^\| `dryfit_\w+` \|.*\(.*?`(\w+)`\)", text, re.M):
        assert row in known
    assert AT_RENDER in text and all(f'"{choice}"' in text for choice in RENDER_CHOICES if choice)
    for command in ("check", "passes"):
        with pytest.raises(SystemExit):
            main([command, "--help"])
        offered = set(re.findall(r"--[a-z-]+", capsys.readouterr().out))
        lines = [line for line in text.splitlines() if f"dryfit {command} " in line and line.startswith("    ")]
        assert lines and all({*re.findall(r"--[a-z-]+", line.partition("dryfit ")[2])} <= offered for line in lines)
