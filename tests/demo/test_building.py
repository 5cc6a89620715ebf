"""The build as a user runs it: files on disk, progress, safe to run twice, clear words when it cannot."""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import dryfit
from dryfit.demo_door import build_demo, demo_module

building = demo_module("building")
SCRIPT = Path(building.__file__).with_name("build.py")
NAME = "01-warden-plain"


def run(*arguments):
    return subprocess.run([sys.executable, SCRIPT, *map(str, arguments)], capture_output=True, text=True)


def test_unknown_design_is_named_with_those_there_are(tmp_path):
    with pytest.raises(building.NoSuchDesign, match="03-warden-hollow-cheek"):
        list(build_demo(tmp_path, "07-warden-lost"))


def test_unwritable_folder_is_an_error_and_not_a_trace(tmp_path):
    pytest.importorskip("bpy")
    (tmp_path / "taken").write_text("a file")
    done = run(tmp_path / "taken", "--only", NAME)
    assert done.returncode == 2
    assert "cannot be written" in done.stderr
    assert "Traceback" not in done.stderr


def test_brief_is_one_that_dryfit_reads():
    brief = dryfit.load_brief(SCRIPT.with_name("brief.toml"))
    assert set(brief.motions) == set(demo_module("performer").MOTIONS)
    assert brief.motions["jaw"].keys == {"JawOpen": (0.0, 1.0)}


@pytest.mark.blender
@pytest.mark.slow
def test_file_reads_back_as_it_was_made(tmp_path):
    pytest.importorskip("bpy")
    done = [run(tmp_path, "--only", NAME) for _ in range(2)]
    assert [each.returncode for each in done] == [0, 0], done[0].stderr
    assert {path.name for path in tmp_path.iterdir()} == {
        f"{NAME}.blend", "brief.toml", "expected.json", "makehuman_head_cc0.LICENSE.txt"
    }  # fmt: skip
    assert done[0].stdout.strip() == str(tmp_path)
    assert NAME in json.loads((tmp_path / "expected.json").read_text())
    text = (tmp_path / "brief.toml").read_text().replace('file = "performer.blend"', 'file = ""')
    (tmp_path / "brief.toml").write_text(text)
    read = dryfit.load_snapshot(tmp_path / f"{NAME}.blend", tmp_path / "brief.toml")
    made = demo_module("variant_snapshots").variant_snapshot(NAME)
    for part in made.parts:
        found = read.part(part.name)
        assert found.role == part.role
        assert found.material == part.material
        assert np.abs(found.vertices_mm - part.vertices_mm).max() < 1e-3
        assert np.array_equal(found.faces, part.faces)
        assert set(found.areas) == set(part.areas)
    for name, motion in made.motions.items():
        for part in motion.frames_mm:
            for t in (0.0, 0.3, 1.0):
                apart = read.motions[name].vertices_at(part, t) - motion.vertices_at(part, t)
                assert np.abs(apart).max() < 0.05
    for name, point in made.landmarks.items():
        assert np.abs(read.landmarks[name] - point).max() < 1e-3
    assert [camera.name for camera in read.cameras] == ["ShotCam"]
