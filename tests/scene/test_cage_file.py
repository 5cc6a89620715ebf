"""The cage as a .blend file: in millimetres, left out of every check wherever it is appended, and written apart."""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.scene.cage import Cage, cage_blend, cage_blend_apart  # noqa: E402

CORNERS = np.array([[0.0, 0.0, 0.0], [40.0, 0.0, 0.0], [0.0, 30.0, 0.0], [9.0, 9.0, 9.0]])
CAGE = Cage(CORNERS, np.array([[0, 1, 2], [0, 2, 3]]), np.array([1.0, 2.0, 3.0, 4.0]))
APART = """
import sys
from pathlib import Path
import numpy as np
from dryfit.scene.cage import Cage, CageNotWritten, cage_blend_apart
cage = Cage(np.array(%r), np.array(%r), np.array(%r))
try:
    Path(sys.argv[1]).write_bytes(cage_blend_apart(cage))
except CageNotWritten as error:
    print(error)
assert "bpy" not in sys.modules
"""


def holds_the_cage(path):
    bpy.ops.wm.open_mainfile(filepath=str(path))
    scene = next(each for each in bpy.data.scenes if each.objects)
    (item,) = scene.objects
    assert scene.unit_settings.scale_length == pytest.approx(0.001)
    assert np.allclose([vertex.co for vertex in item.data.vertices], CORNERS, atol=1e-4)
    assert [tuple(face.vertices) for face in item.data.polygons] == [(0, 1, 2), (0, 2, 3)]
    assert item["dryfit_role"] == "ignore" and item["dryfit_cage"] and item.hide_render and item.hide_select


def test_it_holds_the_surface_in_millimetres(scene, tmp_path):
    before = [len(each) for each in (bpy.data.scenes, bpy.data.objects, bpy.data.meshes, bpy.data.materials)]
    content = cage_blend(CAGE)
    assert [len(each) for each in (bpy.data.scenes, bpy.data.objects, bpy.data.meshes, bpy.data.materials)] == before
    assert cage_blend_apart(CAGE)[:4] == content[:4], "here Blender runs already"
    (tmp_path / "cage.blend").write_bytes(content)
    holds_the_cage(tmp_path / "cage.blend")


@pytest.mark.parametrize("height", [np.nan, 60.0, 200.0])
def test_it_stands_only_where_something_stops_a_form_and_leaps_over_no_wall(height):
    upward = np.tile([0.0, 0.0, 1.0], (4, 1))
    cage = Cage.over(CORNERS, CAGE.faces, upward, np.array([1.0, 2.0, 3.0, height]), most_mm=60.0)
    assert cage.faces.tolist() == [[0, 1, 2]] and cage.room_mm.tolist() == [1.0, 2.0, 3.0]
    assert np.allclose(cage.vertices_mm, CORNERS[:3] + [[0.0, 0.0, 1.0], [0.0, 0.0, 2.0], [0.0, 0.0, 3.0]])
    steep = Cage.over(CORNERS, CAGE.faces, upward, np.array([0.0, 0.0, 160.0, 0.0]), most_mm=np.inf)
    assert not len(steep.faces)


def test_a_process_without_blender_has_another_write_it(scene, tmp_path):
    path = tmp_path / "cage.blend"
    code = APART % (CORNERS.tolist(), CAGE.faces.tolist(), CAGE.room_mm.tolist())
    done = subprocess.run([sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=False)
    assert not done.returncode, done.stderr
    holds_the_cage(path)


def test_a_cage_that_cannot_be_written_is_said():
    code = APART % (CORNERS.tolist(), [[0, 1, 2]], [1.0])
    done = subprocess.run([sys.executable, "-c", code, "x"], capture_output=True, text=True, check=False)
    assert not done.returncode and "cage.ply holds the same surface" in done.stdout, done.stderr


@pytest.mark.slow
def test_the_command_line_writes_it_beside_the_rest(tmp_path):
    import dryfit
    from room_heads import bare_head

    dryfit.save_snapshot(bare_head(), tmp_path / "bare.npz")
    command = [sys.executable, "-m", "dryfit", "room", str(tmp_path / "bare.npz"), "--out", str(tmp_path / "out")]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert not done.returncode, done.stderr
    names = {path.name for path in Path(tmp_path / "out").iterdir()}
    assert names == {"room.json", "room.npz", "cage.ply", "cage.blend", "room.html"}
    assert json.loads((tmp_path / "out" / "room.json").read_text())["schema"] == "dryfit.room/1"
