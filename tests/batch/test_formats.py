"""One piece in every kind of file, by two sorts of writers, against one base: the same figures come out of each."""

import json
import subprocess
import sys

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
pytest.importorskip("pebble", reason="a batch needs it")
trimesh = pytest.importorskip("trimesh", reason="the other writer of these files")
from dryfit.batch.batch import batch_tasks, run_batch  # noqa: E402
from dryfit.batch.local import finished_here  # noqa: E402
from dryfit.model.progress import drain  # noqa: E402
from dryfit.model.snapshot import Part, Snapshot  # noqa: E402
from dryfit.model.snapshot_file import save_snapshot  # noqa: E402
from shapes import sheet  # noqa: E402

pytestmark = pytest.mark.blender

BASE = sheet(160.0, 20)
DENT_MM = 2.5
PIECE = sheet(60.0, 24, lambda x, y: 0.1 * (30 - np.maximum(abs(x), abs(y))) - (3.0 + DENT_MM) * (np.hypot(x, y) < 1))
"""3 mm over the base at the middle, where one vertex dips below it."""
STUD = trimesh.creation.icosphere(subdivisions=2, radius=4.0)
BLENDER_WRITES = ("blend", "obj", "ply", "stl", "glb", "gltf", "usda", "usdc", "fbx")
TRIMESH_WRITES = ("obj", "ply", "stl", "glb")
BRIEF = """
[base]
file = "performer.blend"
object = "Scan"
[units]
mesh_files = "mm"
[roles]
hardware = ["Stud"]
appliance = ["*"]
[landmarks]
sellion = [0.0, -10.0, 1.0]
"""
WRITER = """
import sys, bpy, numpy as np
folder, role = sys.argv[-2:]
stored = np.load(f"{folder}/meshes.npz")
names = sys.argv[-3].split(",")
def scene(scale):
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    for name in names:
        mesh = bpy.data.meshes.new(name)
        mesh.from_pydata((stored[name + "_v"] * scale).tolist(), [], stored[name + "_f"].tolist())
        item = bpy.data.objects.new(name, mesh)
        if role != "-":
            item["dryfit_role"] = role
        bpy.context.scene.collection.objects.link(item)
"""
EXPORT = """
to = lambda kind: f"{folder}/variants/by-blender-{kind}.{kind}"
scene(0.001)
bpy.ops.wm.save_as_mainfile(filepath=to("blend"))
bpy.ops.wm.usd_export(filepath=to("usda"))
bpy.ops.wm.usd_export(filepath=to("usdc"))
bpy.ops.export_scene.fbx(filepath=to("fbx"))
scene(1.0)
for kind in ("obj", "ply", "stl"):
    getattr(bpy.ops.wm, kind + "_export")(filepath=to(kind))
scene(0.001)
bpy.ops.export_scene.gltf(filepath=to("gltf"), export_format="GLTF_SEPARATE")
bpy.ops.export_scene.gltf(filepath=to("glb"), export_format="GLB")
"""


def run_writer(script, names, folder, role):
    """In a process of its own: after the glTF exporter some versions of the module crash when they exit."""
    command = [sys.executable, "-c", WRITER + script, ",".join(names), str(folder), role]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    place = tmp_path_factory.mktemp("formats")
    (place / "variants").mkdir()
    meshes = {"Scan": BASE, "Piece": PIECE, "Stud": (STUD.vertices + [0, 0, 6.0], STUD.faces)}
    arrays = {f"{name}_{kind}": value for name, mesh in meshes.items() for kind, value in zip("vf", mesh, strict=True)}
    np.savez(place / "meshes.npz", **arrays)
    run_writer('scene(0.001)\nbpy.ops.wm.save_as_mainfile(filepath=folder + "/performer.blend")', ["Scan"], place, "-")
    done = run_writer(EXPORT, ["Piece", "Stud"], place, "-")
    (place / "brief.toml").write_text(BRIEF)
    (place / "meshes.npz").unlink()
    by_trimesh(place / "variants", {name: meshes[name] for name in ("Piece", "Stud")})
    parts = (Part("Piece", "appliance", *PIECE), Part("Stud", "hardware", *meshes["Stud"]))
    save_snapshot(Snapshot("saved", parts=parts), place / "variants" / "saved.npz")
    assert len(list((place / "variants").glob("by-*"))) >= len(BLENDER_WRITES) + len(TRIMESH_WRITES), done.stderr
    return place


def by_trimesh(folder, meshes):
    """Write OBJ and GLB Y-up, as those kinds of file are; GLB in metres."""
    y_up = lambda points: np.stack([points[:, 0], points[:, 2], -points[:, 1]], axis=1)  # noqa: E731
    made = lambda scale, turn: trimesh.Scene(  # noqa: E731
        {name: trimesh.Trimesh(turn(v) * scale, f, process=False) for name, (v, f) in meshes.items()}
    )
    made(0.001, y_up).export(folder / "by-trimesh-glb.glb")
    made(1.0, y_up).export(folder / "by-trimesh-obj.obj")
    for kind in ("ply", "stl"):
        made(1.0, np.asarray).to_mesh().export(folder / f"by-trimesh-{kind}.{kind}")


@pytest.fixture(scope="module")
def rows(place):
    tasks = batch_tasks(place / "variants", place / "brief.toml", place / "out", only=("additive",), pictures=False)
    batch = drain(run_batch(tasks, finished_here(tasks, 2, 300.0, 0), place / "out"))
    assert batch.complete
    return {row.source: row for row in batch.rows}


VARIANTS = [
    *(f"by-blender-{kind}.{kind}" for kind in BLENDER_WRITES),
    *(f"by-trimesh-{kind}.{kind}" for kind in TRIMESH_WRITES),
    "saved.npz",
]


def unreadable_here(name):
    return name.endswith("usdc") and bpy.app.version < (4, 5, 0)


@pytest.mark.parametrize("name", VARIANTS)
def test_every_kind_of_file_gives_the_same_figures(rows, place, name):
    row = rows[name]
    if unreadable_here(name):
        assert row.verdict == "unusable"
        assert "use Blender 4.5 or newer" in row.reason
        return
    assert row.verdict == "fail", row.reason
    assert row.measures["additive.max_depth_mm"] == pytest.approx(DENT_MM, abs=2e-3)
    report = json.loads((place / "out" / row.folder / "report.json").read_text(encoding="utf8"))
    assert report["inputs"]["landmarks"] == ["sellion"]
    roles = sorted(part["role"] for part in report["inputs"]["parts"])
    one_mesh = name.endswith((".stl", "trimesh-ply.ply", "blender-ply.ply"))
    assert roles == (["appliance", "base"] if one_mesh else ["appliance", "base", "hardware"])


def test_all_of_them_sit_on_one_base(rows, place):
    readable = [row for name, row in rows.items() if not unreadable_here(name)]
    assert len(readable) >= len(VARIANTS) - 1
    reports = [json.loads((place / "out" / row.folder / "report.json").read_text("utf8")) for row in readable]
    assert len({report["base"]["fingerprint"] for report in reports}) == 1
