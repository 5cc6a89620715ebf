"""The command line around a Blender that has a file open: without a name it takes that file."""

import json

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from test_files import export, save  # noqa: E402

from dryfit.cli import main  # noqa: E402


def test_the_open_file_is_checked(build, tmp_path, capfd):
    build.sphere()
    build.box().location = (0.0, -0.12, 0.0)
    path = save(tmp_path / "warden.blend")
    bpy.ops.wm.open_mainfile(filepath=str(path))
    capfd.readouterr()
    assert main(["check", "--only", "additive", "--json", "--quiet"]) == 0
    report = json.loads(capfd.readouterr().out)
    assert report["variant"]["source"] == str(path)


def test_without_an_open_file_there_is_a_word_for_it(build, capsys):
    assert main(["check", "--only", "additive"]) == 2
    assert "name a file" in capsys.readouterr().err


def test_an_importer_says_nothing_beside_the_json(build, tmp_path, capfd):
    build.sphere()
    build.box().location = (0.0, -0.12, 0.0)
    path = export(tmp_path / "warden.fbx")
    capfd.readouterr()
    main(["check", str(path), "--only", "additive", "--json", "--quiet"])
    assert json.loads(capfd.readouterr().out)["variant"]["name"] == "warden"
