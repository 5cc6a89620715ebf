"""Bad .blend and mesh files, one test a kind: a clear word in the row, nothing run, nothing written elsewhere."""

import json
import subprocess
import sys
import time

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
pytest.importorskip("pebble", reason="a batch needs it")
trimesh = pytest.importorskip("trimesh", reason="another writer of mesh files")
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
    between = (place / "whole.obj").read_text().splitlines()
    (place / "cut_between_lines.obj").write_text("\n".join(between[: len(between) // 2]) + "\n")
    by_trimesh(place)
    (place / "points.obj").write_text("\n".join(line for line in between if not line.startswith("f ")))
    (place / "elsewhere.obj").write_text((place / "whole.obj").read_text().replace("whole.mtl", "../../../etc/passwd"))


def by_trimesh(place):
    """Damage of kinds that Blender's exporters do not write: one vertex that is no number, texts cut short."""
    torn = PIECE[0].copy()
    torn[500] = np.nan
    mesh = trimesh.Trimesh(torn, PIECE[1], process=False)
    whole = trimesh.Trimesh(*PIECE, process=False)
    for kind, text in (("ply", {"encoding": "ascii"}), ("stl", {"file_type": "stl_ascii"})):
        mesh.export(place / f"not_numbers.{kind}")
        mesh.export(place / f"not_numbers_text.{kind}", **text)
        whole.export(place / f"text.{kind}", **text)
        content = (place / f"text.{kind}").read_bytes()
        (place / f"cut_text.{kind}").write_bytes(content[: int(len(content) * 0.9)])
    trimesh.Scene({"Brow": mesh}).export(place / "not_numbers.glb")


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


@pytest.mark.parametrize("name", ["text.ply", "text.stl", "elsewhere.obj"])
def test_the_whole_file_of_another_writer_is_measured(measured, name):
    row = measured[1][name]
    assert row.verdict == "pass", row.reason


def test_faces_that_were_left_out_are_counted(measured):
    folder, rows = measured
    report = json.loads((folder.parent / "out" / rows["wild_faces.obj"].folder / "report.json").read_text("utf8"))
    assert [note for note in report["inputs"]["notes"] if note.startswith("1 of 3201 faces name vertices")]


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


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("points.obj", "1681 vertices and no faces"),
        ("not_numbers.obj", "1 vertices have coordinates that are not finite"),
        ("not_numbers.ply", "1 vertices have coordinates that are not finite"),
        ("not_numbers_text.ply", "1 vertices have coordinates that are not finite"),
        ("not_numbers.stl", "6 vertices have coordinates that are not finite"),
        ("not_numbers_text.stl", "6 vertices have coordinates that are not finite"),
        ("not_numbers.glb", "NaN"),
        ("cut_text.ply", "cannot be read"),
        ("cut_text.stl", "it ends in the middle"),
        ("cut_between_lines.obj", "vertices are in no face"),
    ],
)
def test_a_mesh_that_is_no_surface_says_so(measured, name, words):
    row = measured[1][name]
    assert row.verdict == "unusable", row.worst
    assert words in row.reason


def test_nothing_in_a_blend_file_is_run(measured):
    folder, rows = measured
    assert rows["trap.blend"].verdict == "pass", rows["trap.blend"].reason
    assert not (folder / "trace.txt").exists()
    code = f"import bpy; bpy.ops.wm.open_mainfile(filepath={str(folder / 'trap.blend')!r}, use_scripts=True)"
    allowed = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    late = time.monotonic() + 600.0
    while not (folder / "trace.txt").exists() and allowed.poll() is None and time.monotonic() < late:
        time.sleep(0.1)
    allowed.kill()  # it may hang on its own traps
    allowed.wait()
    assert (folder / "trace.txt").exists()  # the trap is real: it runs where scripts are allowed
    (folder / "trace.txt").unlink()
