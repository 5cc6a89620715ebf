"""The command line around a Blender that has a file open: without a name it takes that file."""

import json
from types import SimpleNamespace

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from test_files import export, save  # noqa: E402

from dryfit.cli import main  # noqa: E402
from dryfit.scene import opening  # noqa: E402
from dryfit.scene.errors import OpenFileAtRisk  # noqa: E402
from dryfit.scene.reading import read_file, read_performer  # noqa: E402


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


@pytest.mark.parametrize("read", [read_file, read_performer])
def test_where_a_window_is_open_no_file_is_opened(read, build, tmp_path, monkeypatch):
    """Whatever is in the file: neither what is open nor the session is put at risk."""
    build.sphere().name = "Mine"
    (tmp_path / "damaged.blend").write_bytes(b"BLENDER-v402" + bytes(500))
    (tmp_path / "damaged.ply").write_bytes(b"ply\n" + bytes(500))
    monkeypatch.setattr(opening, "blender", lambda: SimpleNamespace(app=SimpleNamespace(background=False)))
    for name in ("damaged.blend", "damaged.ply"):
        with pytest.raises(OpenFileAtRisk, match="Measure the open scene instead"):
            read(tmp_path / name)
    assert "Mine" in bpy.data.objects
