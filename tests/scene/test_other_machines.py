"""A path to another machine is never followed: it is taken out before anything of the file is evaluated, and said."""

import re
import shutil
import subprocess
import sys

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from blender_module import needs_module  # noqa: E402
from dryfit.scene.opening import files_to_open, open_blend  # noqa: E402
from dryfit.scene.other_machines import READ_LATER, machine_of  # noqa: E402
from dryfit.scene.reading import read_file  # noqa: E402

CALLS = {"connect", "sendto", "sendmsg", "sendmmsg"}
STRANGER = "\\\\unc-stranger\\share\\"


@pytest.mark.parametrize(
    ("path", "machine"),
    [
        (r"\\Server\share\skin.png", "server"),
        (r"\\server/share/skin.png", "server"),
        (r"\\?\UNC\server\share\skin.png", "server"),
        (r"\\192.0.2.7@8080\DavWWWRoot\skin.png", "192.0.2.7@8080"),
        (r"\\.\pipe\name", "."),
        (r"\\?\C:\show\skin.png", ""),
        (r"C:\show\skin.png", ""),
        ("//textures/skin.png", ""),
        ("/show/skin.png", ""),
        ("skin.png", ""),
        ("", ""),
    ],
)
def test_the_machine_that_a_path_calls(path, machine):
    assert machine_of(path) == machine


@pytest.fixture
def calling(scene, build, tmp_path):
    """A design that names files of a stranger's machine wherever Blender reads one later: its path."""
    build.sphere()
    image = bpy.data.images.new("Skin", 8, 8)
    image.source, image.filepath = "FILE", STRANGER + "skin.png"
    bpy.ops.mesh.primitive_grid_add(x_subdivisions=6, y_subdivisions=6, size=0.03, location=(0, 0, 0.101))
    piece = bpy.context.object
    piece["dryfit_role"] = "appliance"
    raised = piece.modifiers.new("Raised", "DISPLACE")
    raised.texture, raised.strength = bpy.data.textures.new("Pores", "IMAGE"), 0.001
    raised.texture.image = image
    fog = bpy.data.volumes.new("Fog")
    fog.filepath = STRANGER + "fog.vdb"
    scene.collection.objects.link(bpy.data.objects.new("Fog", fog))
    path = tmp_path / "design.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(path), relative_remap=False)
    return path


def test_it_is_taken_out_before_anything_is_evaluated(calling):
    with files_to_open(calling):
        disarmed = open_blend(calling)
        named = [each.filepath for kind in READ_LATER for each in getattr(bpy.data, kind)]
        assert not [path for path in named if "unc-stranger" in path]
    assert len(disarmed.elsewhere) == 2


def test_it_is_said_with_what_to_do(calling):
    notes = [
        note for note in read_file(calling).notes if note.startswith("Not read, because it lies on another machine")
    ]
    assert len(notes) == 2
    assert any("'Skin'" in note and "skin.png" in note for note in notes)
    assert all(note.endswith("Copy it beside the design.") for note in notes)


@needs_module
@pytest.mark.slow
@pytest.mark.skipif(not shutil.which("strace"), reason="strace, which lists what a process asks for, is not here")
def test_nobody_asks_for_it(calling, tmp_path):
    """By what the processes ask the system for: no file of that machine, and nobody is called over a network."""
    asked = tmp_path / "asked"
    command = [sys.executable, "-m", "dryfit", "check", str(calling), "--only", "additive"]
    traced = ["strace", "-f", "-qq", "-e", "trace=%network,%file", "-o", str(asked), *command]
    done = subprocess.run(traced, capture_output=True, text=True, check=False)
    if not asked.is_file() or not asked.stat().st_size:
        pytest.skip("processes may not be traced here")
    assert done.returncode in (0, 1), done.stderr
    lines = asked.read_text(encoding="utf8", errors="replace").splitlines()
    assert any("design.blend" in line for line in lines)
    assert not [line for line in lines if "unc-stranger" in line]
    assert not [line for line in lines if "AF_INET" in line and CALLS & {*re.split(r"\W+", line)}]
