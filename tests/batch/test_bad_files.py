"""Bad .blend and mesh files, one test a kind: a clear word in the row, nothing run, nothing written elsewhere."""

import subprocess
import sys

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
pytest.importorskip("pebble", reason="a batch needs it")
from dryfit.batch.batch import batch_tasks, run_batch  # noqa: E402
from dryfit.batch.local import finished_here  # noqa: E402
from dryfit.model.progress import drain  # noqa: E402
from dryfit.model.snapshot import Part, Snapshot  # noqa: E402
from dryfit.model.snapshot_file import save_snapshot  # noqa: E402
from shapes import sheet  # noqa: E402

pytestmark = pytest.mark.blender

BASE = sheet(160.0, 20)
PIECE = sheet(60.0, 40, lambda x, y: 0.1 * (30 - np.maximum(abs(x), abs(y))))
BRIEF = '[base]\nfile = "performer.npz"\n[units]\nmesh_files = "mm"\n'
KINDS = ("blend", "obj", "ply", "stl", "glb", "fbx", "usda")
HOSTILE = ("=HYPERLINK(1)", "+1", "-2", "@SUM(1)", "../../../outside", "<script>alert(1)</script>", "\"'><b>", "塩")
WRITER = """
import bpy, sys, numpy as np
place = sys.argv[-1]
stored = np.load(place + "/piece.npz")
def scene(scale, names, role=None):
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    for name in names:
        mesh = bpy.data.meshes.new(name)
        mesh.from_pydata((stored["vertices"] * scale).tolist(), [], stored["faces"].tolist())
        item = bpy.data.objects.new(name, mesh)
        bpy.context.scene.collection.objects.link(item)
        if role:
            item["dryfit_role"] = role
def blend(name):
    bpy.ops.wm.save_as_mainfile(filepath=f"{place}/{name}.blend")
def mesh_files(name):
    for kind in ("obj", "ply", "stl"):
        getattr(bpy.ops.wm, kind + "_export")(filepath=f"{place}/{name}.{kind}")
scene(0.001, ["Brow"], "appliance")
blend("whole")
bpy.ops.wm.usd_export(filepath=place + "/whole.usda")
bpy.ops.export_scene.fbx(filepath=place + "/whole.fbx")
trace = place + "/trace.txt"
write = f"open({trace!r}, 'w').write('ran')"
text = bpy.data.texts.new("trap.py")
text.write(f"import bpy\\n{write}\\nbpy.app.handlers.load_post.append(lambda *_: {write})")
text.use_module = True
item = bpy.data.objects["Brow"]
driver = item.driver_add("location", 0).driver
driver.expression = f"({write}, 0.0)[1]"
item.shape_key_add(name="Basis")
driver = item.shape_key_add(name="Pulse").driver_add("value").driver
driver.expression = f"({write}, 0.0)[1]"
blend("trap")
scene(0.001, ["Brow"])
blend("nothing_worn")
scene(0.001, NAMES, "appliance")
blend("names")
scene(1.0, ["Brow"])
mesh_files("whole")
scene(0.001, ["Brow"])
mesh_files("metres")
scene(1000.0, ["Brow"])
mesh_files("thousandfold")
scene(1.0, ["Brow"])
bpy.ops.export_scene.gltf(filepath=place + "/thousandfold.glb")
scene(0.001, ["Brow"])
bpy.ops.export_scene.gltf(filepath=place + "/whole.glb")
"""


def write_files(place):
    """Real files by Blender's own exporters, in a process of its own: glTF's may crash it when it exits."""
    np.savez(place / "piece.npz", vertices=PIECE[0], faces=PIECE[1])
    script = WRITER.replace("NAMES", repr(list(HOSTILE)))
    done = subprocess.run([sys.executable, "-c", script, str(place)], capture_output=True, text=True, check=False)
    assert (place / "whole.glb").exists(), done.stderr
    (place / "piece.npz").unlink()


def damage(place):
    for kind in KINDS:
        whole = (place / f"whole.{kind}").read_bytes()
        (place / f"cut.{kind}").write_bytes(whole[: int(len(whole) * 0.6)])
        (place / f"empty.{kind}").write_bytes(b"")
        (place / f"words.{kind}").write_text("The Salt Orchard: wardens wade out.\n" * 40)
    lines = (place / "whole.obj").read_text().splitlines()
    first = next(number for number, line in enumerate(lines) if line.startswith("v "))
    (place / "wild_faces.obj").write_text("\n".join([*lines, "f 1 2 999999"]))
    lines[first] = "v nan nan nan"
    (place / "not_numbers.obj").write_text("\n".join(lines))
    (place / "points.obj").write_text("\n".join(line for line in lines if not line.startswith("f ")))
    (place / "elsewhere.obj").write_text((place / "whole.obj").read_text().replace("whole.mtl", "../../../etc/passwd"))


@pytest.fixture(scope="module")
def measured(tmp_path_factory):
    """All of them in one batch; rows by file name."""
    place = tmp_path_factory.mktemp("files")
    folder = place / "variants"
    folder.mkdir()
    save_snapshot(Snapshot("performer", parts=(Part("Scan", "base", *BASE),)), place / "performer.npz")
    (place / "brief.toml").write_text(BRIEF)
    write_files(folder)
    damage(folder)
    tasks = batch_tasks(
        folder, place / "brief.toml", place / "out", only=("additive",), pictures=False, most_triangles=20_000
    )
    batch = drain(run_batch(tasks, finished_here(tasks, 2, 300.0, 0), place / "out"))
    assert batch.complete
    assert sorted(path.name for path in place.iterdir()) == ["brief.toml", "out", "performer.npz", "variants"]
    return folder, {row.source: row for row in batch.rows}


@pytest.mark.parametrize("kind", KINDS)
def test_the_whole_file_is_measured(measured, kind):
    row = measured[1][f"whole.{kind}"]
    assert row.verdict == "pass", row.reason


@pytest.mark.parametrize("kind", KINDS)
def test_an_empty_file_is_called_empty(measured, kind):
    row = measured[1][f"empty.{kind}"]
    assert (row.verdict, row.reason.split(": ", 1)[1]) == ("unusable", "cannot be read: the file is empty")


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_that_is_not_what_its_name_says_is_unusable(measured, kind):
    row = measured[1][f"words.{kind}"]
    assert row.verdict == "unusable"
    assert f"words.{kind}: cannot be read: " in row.reason


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_cut_short_never_passes(measured, kind):
    row = measured[1][f"cut.{kind}"]
    assert row.verdict == "unusable", (row.verdict, row.worst)
    assert "a fault in Dryfit" not in row.reason


@pytest.mark.parametrize("kind", ["obj", "ply", "stl"])
def test_a_mesh_in_another_unit_than_stated_is_named(measured, kind):
    for name, words in (("metres", "metres read as millimetres"), ("thousandfold", "millimetres read as metres")):
        row = measured[1][f"{name}.{kind}"]
        assert row.verdict == "unusable"
        assert words in row.reason


def test_a_gltf_written_in_millimetres_is_named(measured):
    row = measured[1]["thousandfold.glb"]
    assert row.verdict == "unusable"
    assert "millimetres read as metres" in row.reason


def test_a_blend_without_roles_says_which_role_is_missing(measured):
    row = measured[1]["nothing_worn.blend"]
    assert row.verdict == "unusable"
    assert "no object has the role 'appliance'" in row.reason


def test_too_many_triangles_are_counted(measured):
    row = measured[1]["names.blend"]
    assert row.verdict == "unusable"
    assert "26,400 triangles are more than the 20,000 of --max-triangles" in row.reason


@pytest.mark.parametrize(("name", "words"), [("points.obj", "cannot be read"), ("not_numbers.obj", "not finite")])
def test_a_mesh_that_is_no_surface_says_so(measured, name, words):
    row = measured[1][name]
    assert row.verdict == "unusable", row.worst
    assert words in row.reason


def test_nothing_in_a_blend_file_is_run(measured):
    folder, rows = measured
    assert rows["trap.blend"].verdict == "pass", rows["trap.blend"].reason
    assert not (folder / "trace.txt").exists()
    code = f"import bpy; bpy.ops.wm.open_mainfile(filepath={str(folder / 'trap.blend')!r}, use_scripts=True)"
    subprocess.run([sys.executable, "-c", code], capture_output=True, check=False)
    assert (folder / "trace.txt").exists()  # the trap is real: it runs where scripts are allowed
    (folder / "trace.txt").unlink()
