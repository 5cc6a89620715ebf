"""Designs drawn from other files: when one of those changes, --resume measures the design again, and no other."""

import json
import shutil
import subprocess
import sys

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
pytest.importorskip("pebble", reason="a batch needs it")
from blender_module import needs_module  # noqa: E402
from dryfit.batch.batch import batch_tasks, run_batch  # noqa: E402
from dryfit.batch.local import finished_here  # noqa: E402
from dryfit.model.brief_reading import read_brief  # noqa: E402
from dryfit.model.progress import drain  # noqa: E402
from dryfit.model.snapshot import Part, Snapshot  # noqa: E402
from dryfit.model.snapshot_file import save_snapshot  # noqa: E402
from dryfit.scene import kept_base  # noqa: E402
from dryfit.scene.linked_files import blend_links, usd_layers  # noqa: E402
from shapes import sheet  # noqa: E402

pytestmark = [pytest.mark.blender, pytest.mark.slow, needs_module]
BRIEF = """
[base]
file = "performer.npz"
[roles]
appliance = ["*"]
[landmarks]
sellion = [0.0, -10.0, 1.0]
"""
BUILD = """
import sys, bpy, numpy as np
from pathlib import Path
place = Path(sys.argv[-1])
arrays = np.load(place / "piece.npz")

def empty():
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)

def piece(name):
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata((arrays["v"] * 0.001).tolist(), [], arrays["f"].tolist())
    item = bpy.data.objects.new(name, mesh)
    bpy.context.scene.collection.objects.link(item)
    return item

def save(path):
    bpy.ops.wm.save_as_mainfile(filepath=str(place / path))

def library(path, name):
    empty()
    held = bpy.data.collections.new(name)
    item = piece(name)
    held.objects.link(item)
    held.use_fake_user = True
    save(path)

def linked(path, source, name):
    empty()
    with bpy.data.libraries.load(str(place / source), link=True) as (_, wanted):
        wanted.collections = [name]
    bpy.context.scene.collection.children.link(bpy.data.collections[name])
    save(path)
    bpy.ops.file.make_paths_relative()
    save(path)

library("parts/brow.blend", "Brow")
library("parts/cheek.blend", "Cheek")
linked("variants/direct.blend", "parts/brow.blend", "Brow")
linked("parts/middle.blend", "parts/cheek.blend", "Cheek")
empty()
with bpy.data.libraries.load(str(place / "parts/middle.blend"), link=True) as (_, wanted):
    wanted.scenes = ["Scene"]
for item in bpy.data.objects:
    bpy.context.scene.collection.objects.link(item)
save("variants/nested.blend")
bpy.ops.file.make_paths_relative()
save("variants/nested.blend")
empty()
piece("Alone")
save("variants/alone.blend")
empty()
piece("Nose")
bpy.ops.wm.usd_export(filepath=str(place / "parts/nose.usda"))
bpy.ops.wm.usd_export(filepath=str(place / "parts/binary.usdc"))
root = '#usda 1.0\\n(\\n    subLayers = [@{}@]\\n    metersPerUnit = 1\\n    upAxis = "Z"\\n)\\n'
(place / "parts/shot.usda").write_text(root.format("./nose.usda"))
(place / "variants/layered.usda").write_text(root.format("../parts/shot.usda"))
(place / "variants/on-binary.usda").write_text(root.format("../parts/binary.usdc"))
"""
DRAWN_FROM = {
    "alone.blend": set(),
    "direct.blend": {"../parts/brow.blend"},
    "nested.blend": {"../parts/middle.blend", "../parts/cheek.blend"},
    "layered.usda": {"../parts/shot.usda", "../parts/nose.usda"},
    "on-binary.usda": {"../parts/binary.usdc"},
}
LISTS_BINARY = bpy.app.version >= (4, 4, 0)


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    place = tmp_path_factory.mktemp("linked")
    for folder in ("variants", "parts"):
        (place / folder).mkdir()
    vertices, faces = sheet(60.0, 12, lambda x, y: 0.1 * (30 - np.maximum(abs(x), abs(y))))
    np.savez(place / "piece.npz", v=vertices, f=faces)
    done = subprocess.run(
        [sys.executable, "-c", BUILD, str(place)], capture_output=True, text=True, check=False, timeout=300
    )
    for backup in place.rglob("*.blend1"):
        backup.unlink()
    assert {path.name for path in (place / "variants").iterdir()} == {*DRAWN_FROM}, done.stderr[-2000:]
    save_snapshot(Snapshot("performer", parts=(Part("Scan", "base", *sheet(160.0, 10)),)), place / "performer.npz")
    (place / "brief.toml").write_text(BRIEF)
    return place


@pytest.fixture(scope="module")
def first(built):
    return measured(built)


@pytest.fixture
def place(built, first, tmp_path):
    """A show of its own for each test, moved as a whole with its results."""
    shutil.copytree(built, tmp_path / "show", copy_function=shutil.copy2)
    return tmp_path / "show"


def measured(place, resume=False):
    tasks = batch_tasks(
        place / "variants", place / "brief.toml", place / "out", only=("additive",), pictures=False, resume=resume
    )
    batch = drain(run_batch(tasks, finished_here(tasks, 1, 300.0, 0), place / "out"))
    assert batch.complete
    assert not [row.reason for row in batch.rows if row.reason]
    stored = json.loads((place / "out" / "batch.json").read_text(encoding="utf8"))["variants"]
    return {row["source"]: row for row in stored}


def redone(place):
    """Measure again with --resume and return which variants were."""
    kept = {path: path.stat().st_mtime_ns for path in (place / "out").glob("*/row.json")}
    rows = measured(place, resume=True)
    again = {path.parent.name for path, then in kept.items() if path.stat().st_mtime_ns != then}
    return {source for source, row in rows.items() if row["folder"] in again} - unlisted()


def unlisted():
    return set() if LISTS_BINARY else {"on-binary.usda"}


def test_what_a_design_was_drawn_from_stands_in_its_row(first):
    assert {source: set(row["read_from"]) for source, row in first.items()} == DRAWN_FROM
    for row in first.values():
        assert all(len(digest) == 64 for digest in row["read_from"].values())


def test_each_was_measured_with_what_it_draws_on(first):
    areas = {row["measures"]["additive.covered_area_mm2"] for row in first.values()}
    assert len(first) == 5
    assert max(areas) - min(areas) < 1e-2 and min(areas) > 1000.0


def test_a_moved_show_is_kept_whole(place):
    assert redone(place) == set()


@pytest.mark.parametrize(
    ("changed", "affected"),
    [
        ("brow.blend", {"direct.blend"}),
        ("middle.blend", {"nested.blend"}),
        ("cheek.blend", {"nested.blend"}),
        ("shot.usda", {"layered.usda"}),
        ("nose.usda", {"layered.usda"}),
    ],
)
def test_only_what_draws_on_a_changed_file_is_measured_again(place, changed, affected):
    path = place / "parts" / changed
    content = path.read_bytes()
    path.write_bytes(content + (b"\n# moved\n" if path.suffix == ".usda" else b"\0" * 16))
    assert redone(place) == affected
    assert redone(place) == set()


def test_a_library_that_went_missing_and_came_back_counts_both_times(place):
    path = place / "parts" / "cheek.blend"
    path.rename(place / "away.blend")
    kept = json.loads((place / "out" / "nested" / "row.json").read_text(encoding="utf8"))
    tasks = batch_tasks(place / "variants", place / "brief.toml", place / "out", only=("additive",), pictures=False,
                        resume=True)  # fmt: skip
    batch = drain(run_batch(tasks, finished_here(tasks, 1, 300.0, 0), place / "out"))
    nested = next(row for row in batch.rows if row.source == "nested.blend")
    assert nested.measures != kept["measures"]
    (place / "away.blend").rename(path)
    assert measured(place, resume=True)["nested.blend"]["measures"] == kept["measures"]


@pytest.mark.skipif(LISTS_BINARY, reason="this Blender lists what a binary layer draws on")
def test_a_binary_layer_that_cannot_be_asked_is_never_kept(place):
    before = (place / "out" / "on-binary" / "row.json").stat().st_mtime_ns
    measured(place, resume=True)
    assert (place / "out" / "on-binary" / "row.json").stat().st_mtime_ns != before


def test_nothing_but_the_batchs_own_lines_reach_a_log(place):
    command = [sys.executable, "-m", "dryfit", "batch", str(place / "variants"), "--out", str(place / "log")]
    command += ["--brief", str(place / "brief.toml"), "--only", "additive", "--no-pictures"]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)
    assert done.returncode == 0, done.stderr
    assert all(line.startswith("pass") or line.startswith("5 pass") or line.endswith("index.html")
               for line in done.stdout.splitlines())  # fmt: skip
    assert all(line.lstrip().partition(" %  ")[0].isdigit() for line in done.stderr.splitlines()), done.stderr


def test_a_simulations_cache_on_disk_may_hold_anything(tmp_path):
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    bpy.ops.mesh.primitive_plane_add()
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "cloth.blend"))
    assert blend_links() == ([], True)
    cloth = bpy.context.object.modifiers.new("Cloth", "CLOTH")
    cloth.point_cache.use_disk_cache = True
    bpy.ops.wm.save_mainfile()
    assert blend_links() == ([], False)


def test_a_damaged_layer_is_named_and_nothing_is_sure_then(tmp_path):
    (tmp_path / "torn.usda").write_text("#usda 1.0\n( torn")
    (tmp_path / "root.usda").write_text("#usda 1.0\n(\n    subLayers = [@./torn.usda@]\n)\n")
    layers, all_known = usd_layers(tmp_path / "root.usda")
    assert [path.name for path in layers] == ["torn.usda"]
    assert all_known is not LISTS_BINARY


def test_the_base_is_read_again_when_its_library_changed(place):
    (place / "brief.toml").write_text(BRIEF.replace("performer.npz", "variants/direct.blend"))
    brief = read_brief(place / "brief.toml")
    kept_base._read.cache_clear()
    first = kept_base.kept_base(place / "variants" / "direct.blend", brief)
    assert kept_base.kept_base(place / "variants" / "direct.blend", brief) is first
    with (place / "parts" / "brow.blend").open("ab") as stream:
        stream.write(b"\0" * 16)
    assert kept_base.kept_base(place / "variants" / "direct.blend", brief) is not first
