"""A stranger's .blend is data: each way known to let one run code or write files springs in a plain Blender, not here."""

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
import traps  # noqa: E402

from blender_module import needs_module  # noqa: E402
from dryfit.scene.reading import read_file  # noqa: E402

pytestmark = [pytest.mark.slow, needs_module]
FLUIDS = [name for name in traps.TRAPS if name.startswith("fluid")]
PLAYED = [trap.__name__ for trap in (*traps.ALWAYS, *traps.SOMETIMES) if trap.__name__ not in FLUIDS]
REFUSED = {
    "cloth", "cloth_in_a_library", "cloth_switched_to_disk_by_a_driver", "cloth_in_a_library_switched_to_disk",
    "cloth_switched_to_disk_by_keys", "soft_body", "particles", "dynamic_paint", "rigid_bodies", *FLUIDS,
}  # fmt: skip
"""What is measured, and not written again from outside."""
LEFT_OUT = {*FLUIDS}
"""What would count and does not, so that it is said."""


def run(part, place, names, home):
    """Run a part of the script; return what it says of each design."""
    surroundings = {**os.environ, "BLENDER_USER_RESOURCES": str(home)}
    command = [sys.executable, traps.__file__, part, str(place), *names]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=580, env=surroundings)
    said = [json.loads(line) for line in done.stdout.splitlines() if line.startswith('["')]
    return {name: words for name, *words in said}, done


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    return tmp_path_factory.mktemp("home")


@pytest.fixture(scope="module")
def built(tmp_path_factory, home):
    """A function that builds the designs anew in a folder of their own."""

    def build(names):
        place = tmp_path_factory.mktemp("traps")
        _, done = run("build", place, names, home)
        assert done.returncode == 0, done.stderr[-2000:]
        assert all((place / name / "design.blend").exists() for name in names)
        return place

    return build


@pytest.fixture(scope="module")
def sprung(built, home):
    """What a plain Blender lets happen: design -> new files. Fluids come last: they may take it down."""
    place = built([*PLAYED, *FLUIDS])
    said, _ = run("spring", place, PLAYED, home)
    return said | run("spring", place, FLUIDS, home)[0]


@pytest.fixture(scope="module")
def cared_for(built, home):
    """What Dryfit lets happen: design -> new files, and what it says."""
    place = built(traps.TRAPS)
    said, done = run("care", place, traps.TRAPS, home)
    assert done.returncode == 0, done.stderr[-2000:]
    return said


@pytest.mark.parametrize("trap", [trap.__name__ for trap in traps.ALWAYS])
def test_it_springs_in_a_plain_blender(sprung, trap):
    assert sprung[trap][0]


@pytest.mark.parametrize("trap", [trap.__name__ for trap in traps.SOMETIMES])
def test_it_springs_in_some_plain_blenders(sprung, trap):
    if not sprung[trap][0]:
        pytest.skip(f"Blender {bpy.app.version_string} keeps it still itself")


def test_scripts_run_where_they_are_allowed(built, home):
    names = [trap.__name__ for trap in traps.SCRIPTS]
    said, _ = run("allow", built(names), names, home)
    assert said == {name: [["trace"]] for name in names}


@pytest.mark.parametrize("trap", traps.TRAPS)
def test_nothing_runs_and_nothing_is_written_through_dryfit(cared_for, trap):
    new, said = cared_for[trap]
    assert new == []
    refused = [words for words in said if words.startswith("WritesWhenEvaluated: ")]
    assert len(refused) == (2 if trap in REFUSED else 0)


@pytest.mark.parametrize("trap", traps.TRAPS)
def test_what_is_left_out_is_said(cared_for, trap):
    said = [words for words in cared_for[trap][1] if words.startswith("Left out, because it would write files")]
    assert len({*said}) == (1 if trap in LEFT_OUT else 0)


def test_files_are_not_packed_into_a_design_that_is_locked(cared_for):
    assert any("Automatically Pack Resources" in words for words in cared_for["packing"][1])


def test_a_camera_that_is_a_program_is_named(cared_for):
    if not hasattr(bpy.types.Camera, "custom_shader"):
        pytest.skip("this Blender has no such cameras")
    refused = [name for name, (_, said) in cared_for.items() if any("ScriptedCamera: " in words for words in said)]
    assert refused == ["camera_program"]


def dryfit(*arguments):
    command = [sys.executable, "-m", "dryfit", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)


def test_the_command_that_renders_lets_no_style_module_run(built, tmp_path):
    place = built(["style_module"]) / "style_module"
    done = dryfit("passes", place / "design.blend", "--only", "additive", "--out", tmp_path / "passes.exr")
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "passes.exr").stat().st_size
    assert [path.name for path in place.iterdir()] == ["design.blend"]


def test_a_design_that_cannot_be_written_again_is_left_alone(built):
    place = built(["cloth"]) / "cloth"
    before = (place / "design.blend").read_bytes()
    done = dryfit("lock", place / "design.blend")
    assert (done.returncode, done.stdout) == (2, "")
    assert "the simulation 'Cloth' of 'Other' would write files of its own" in done.stderr
    assert (place / "design.blend").read_bytes() == before


@pytest.fixture
def simulated(scene, build, tmp_path):
    """A head with cloth as its piece, played to frame 5 with its cache on disk: the file, and where the cloth was."""
    build.sphere()
    bpy.ops.mesh.primitive_grid_add(x_subdivisions=4, y_subdivisions=4, size=0.05, location=(0, 0, 0.12))
    item = bpy.context.object
    item["dryfit_role"] = "appliance"
    cache = item.modifiers.new("Cloth", "CLOTH").point_cache
    path = tmp_path / "design.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    cache.use_disk_cache = True
    for frame in range(1, 6):
        scene.frame_set(frame)
    depsgraph = bpy.context.evaluated_depsgraph_get()
    shown = item.evaluated_get(depsgraph)
    place_mm = 1000.0 * np.array([shown.matrix_world @ point.co for point in shown.data.vertices])
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    return path, place_mm, item


def content(folder):
    return {path.name: (path.read_bytes(), path.stat().st_mtime_ns) for path in Path(folder).iterdir()}


def test_what_a_simulation_has_on_disk_is_measured_and_kept(simulated, tmp_path):
    path, place_mm, _ = simulated
    before = content(tmp_path / "blendcache_design")
    assert len(before) >= 4
    (piece,) = read_file(path).with_role("appliance")
    np.testing.assert_allclose(piece.vertices_mm, place_mm, atol=1e-3)
    assert piece.vertices_mm[:, 2].max() < 100.0, "it fell"
    assert content(tmp_path / "blendcache_design") == before


def test_what_is_baked_on_disk_is_measured_and_may_be_locked(simulated, tmp_path):
    path, place_mm, item = simulated
    with bpy.context.temp_override(point_cache=item.modifiers["Cloth"].point_cache):
        bpy.ops.ptcache.bake_from_cache()
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    before = content(tmp_path / "blendcache_design")
    snapshot = read_file(path)
    np.testing.assert_allclose(snapshot.with_role("appliance")[0].vertices_mm, place_mm, atol=1e-3)
    assert not snapshot.notes
    done = dryfit("lock", path)
    assert done.returncode == 0, done.stderr
    assert content(tmp_path / "blendcache_design") == before
