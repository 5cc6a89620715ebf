"""Every command of the guide is run as it stands, in a folder that holds what it names."""

import shutil
import subprocess
import sys
import webbrowser
from itertools import pairwise

import numpy as np
import pytest

from dryfit.cli import main
from dryfit.guide import pages
from dryfit.model.snapshot_file import save_snapshot
from guide.guide_text import PIPELINE, ROOT, arguments, commands, door_of
from shapes import sheet, worn

try:
    import bpy
except ImportError:
    bpy = None

BASE = sheet(160.0, 40)
COMMANDS = commands()
FEWER = ("--only", "additive,edge")
QUICK = {"compare": FEWER, "passes": (*FEWER, "--size", "64x36", "--samples", "1"), "check": FEWER}
"""Added on a whole head: two checks and a small picture are enough to see that a command runs."""
WHOLE = "dryfit check warden.blend --out report"
"""The one that is run with every check."""


def named(words):
    return " ".join(words)


def of_door(door):
    return [words for words in COMMANDS if door_of(words) == door]


@pytest.fixture
def show(tmp_path, monkeypatch):
    """A folder with the snapshots, variants and brief that the guide speaks of."""
    rim = lambda x, y: 30 - np.maximum(abs(x), abs(y))  # noqa: E731
    dip = lambda x, y: 0.1 * rim(x, y) - 6.0 * np.clip(1 - (x**2 + y**2) / 225, 0, None)  # noqa: E731
    designs = {
        "plain": worn(BASE, sheet(60.0, 60, lambda x, y: 0.1 * rim(x, y))),
        "hollow": worn(BASE, sheet(60.0, 60, dip)),
    }
    (tmp_path / "variants").mkdir()
    for name, design in designs.items():
        save_snapshot(design, tmp_path / f"variants/warden-{name}.npz")
        save_snapshot(design, tmp_path / f"warden-{name}.npz")
    save_snapshot(designs["plain"], tmp_path / "variants/warden-third.npz")  # the third of forty jobs has one
    save_snapshot(designs["plain"], tmp_path / "approved.npz")
    save_snapshot(designs["hollow"], tmp_path / "newer.npz")
    (tmp_path / "show.toml").write_text("[limits]\nadditive_tolerance_mm = 0.3\n")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def built(tmp_path, monkeypatch):
    """Pages to open, and a browser that only notes what it is given."""
    folder, opened = tmp_path / "pages", []
    folder.mkdir()
    for chapter in (pages.START, *pages.CHAPTERS):
        (folder / f"{chapter}.html").write_text("<!doctype html>")
    monkeypatch.setattr(pages, "FOLDER", folder)
    monkeypatch.setattr(webbrowser, "open", opened.append)
    return opened


def test_there_are_commands_of_every_door():
    assert len(COMMANDS) > 20 and WHOLE in map(named, COMMANDS)
    assert all(of_door(door) for door in ("here", "blend", "script", "cluster"))
    assert {words[0] for words in COMMANDS} == {"dryfit", "blender", "python3", "dask"}
    assert {arguments(words)[0] for words in COMMANDS if "dryfit" in words} >= {
        "check", "batch", "compare", "explain", "guide", "landmarks", "lock", "passes",
    }  # fmt: skip


@pytest.mark.parametrize("words", of_door("here"), ids=named)
def test_a_command_runs_without_blender(show, built, words, capsys):
    assert main(arguments(words)) in (0, 1), capsys.readouterr().err
    said = capsys.readouterr()
    assert "fault in Dryfit" not in said.err and (said.out or "--fail-on" in words)
    for option, name in pairwise(words):
        assert option != "--out" or (show / name).exists()
    if "guide" in words:
        assert [said.out.strip()] == built


@pytest.mark.parametrize("words", of_door("script"), ids=named)
def test_a_script_that_is_named_is_there_and_tells_of_itself(words):
    done = subprocess.run([sys.executable, ROOT / words[1], "--help"], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert all(word in done.stdout for word in words if word.startswith("--"))


@pytest.mark.parametrize("words", of_door("cluster"), ids=named)
def test_a_command_for_a_cluster_is_one_that_there_is(show, words, monkeypatch):
    from dryfit import cli

    if words[0] == "dask":
        assert f"    {named(words)}" in PIPELINE.read_text("utf8")
        assert "--memory-limit" in words and "--nthreads" in words
        return
    asked = []
    monkeypatch.setattr(cli, "_batch", lambda given: asked.append(given) or 0)
    assert main(arguments(words)) == 0
    assert asked[0].engine == "dask" and asked[0].scheduler


@pytest.fixture(scope="module")
def warden(tmp_path_factory):
    """One of the demonstration's designs."""
    pytest.importorskip("bpy", reason="needs Blender's Python module")
    from dryfit.demo_door import build_demo
    from dryfit.model.progress import drain

    folder = tmp_path_factory.mktemp("demo")
    drain(build_demo(folder, "03-warden-hollow-cheek"))
    return folder / "03-warden-hollow-cheek.blend"


@pytest.mark.slow
@pytest.mark.blender
@pytest.mark.parametrize("words", of_door("blend"), ids=named)
def test_a_command_runs_on_a_blend(show, warden, words, capsys):
    for name in {word for word in words if word.endswith(".blend") and word != "painted.blend"}:
        shutil.copy(warden, show / name)
    if words[0] == "blender":
        bpy.ops.wm.open_mainfile(filepath=str(show / words[2]))
    given = arguments(words)
    quicker = () if named(words) == WHOLE or "--only" in words else QUICK.get(given[0], ())
    assert main([*given, *quicker]) in (0, 1), capsys.readouterr().err
    assert "fault in Dryfit" not in capsys.readouterr().err
