"""Files: .blend with scripts disabled, mesh files in their units, bases from a brief, damaged ones."""

import re
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from blender_module import is_module, needs_module  # noqa: E402
from dryfit.model.brief_reading import parse_brief  # noqa: E402
from dryfit.model.errors import UnitsNotStated, UnreadableFile  # noqa: E402
from dryfit.model.snapshot import Role  # noqa: E402
from dryfit.model.snapshot_file import save_snapshot  # noqa: E402
from dryfit.scene.errors import BaseNotStated, NoSuchObject, WhichBase  # noqa: E402
from dryfit.scene.reading import read_file, read_snapshot  # noqa: E402

WITHOUT_USD = "usd_import" not in dir(bpy.ops.wm)
needs_usd = pytest.mark.skipif(WITHOUT_USD, reason="this Blender was built without USD")
JAW = "[motions.jaw]\nkeys = { JawOpen = [0.0, 1.0] }\n"
UNITS = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254}
USDA = """#usda 1.0
(
{unit}    upAxis = "Z"
)

def Mesh "Tusk"
{{
    int[] faceVertexCounts = [3, 3, 3, 3]
    int[] faceVertexIndices = [0, 2, 1, 0, 1, 3, 1, 2, 3, 2, 0, 3]
    point3f[] points = [(0, 0, 0), (10, 0, 0), (0, 20, 0), (0, 0, 30)]
}}
"""


def save(path):
    bpy.ops.wm.save_as_mainfile(filepath=str(path), compress=path.stem.startswith("packed"))
    return path


def export(path):
    """Write the open scene with Blender's own exporter of that kind of file."""
    kind, name = path.suffix[1:], str(path)
    if kind in ("obj", "ply", "stl"):
        getattr(bpy.ops.wm, f"{kind}_export")(filepath=name)
    elif kind in ("glb", "gltf"):
        export_gltf(name, "GLB" if kind == "glb" else "GLTF_SEPARATE")
    elif kind == "fbx":
        bpy.ops.export_scene.fbx(filepath=name, use_custom_props=True)
    else:
        bpy.ops.wm.usd_export(filepath=name)
    return path


def export_gltf(name, form):
    """Export in a process of its own: after this exporter the 4.2 module crashes when it exits."""
    if not is_module:
        bpy.ops.export_scene.gltf(filepath=name, export_extras=True, export_format=form)
        return
    kept = save(Path(name).with_suffix(".export.blend"))
    script = (
        f"import bpy; bpy.ops.wm.open_mainfile(filepath={str(kept)!r}); "
        f"bpy.ops.export_scene.gltf(filepath={name!r}, export_extras=True, export_format={form!r})"
    )
    subprocess.run([sys.executable, "-c", script], capture_output=True, check=False)
    assert Path(name).stat().st_size


@pytest.fixture
def performer(build, tmp_path):
    """A base file: head with a jaw key, its own teeth, a landmark."""
    head = build.sphere()
    build.key(head, "JawOpen", (0.0, 0.0, -0.03))
    build.box("Teeth", "lower_teeth")
    build.empty("Chin", "gnathion", (0.0, -0.1, -0.05))
    path = save(tmp_path / "performer.blend")
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    return path


def brief_beside(tmp_path, text):
    return parse_brief(text, str(tmp_path / "brief.toml"))


@pytest.mark.parametrize("stem", ["plain", "packed"])
def test_a_blend_file_reads_as_its_open_scene_does(build, tmp_path, stem):
    build.key(build.sphere(), "JawOpen", (0.0, 0.0, -0.03))
    build.box()
    brief = parse_brief(JAW)
    opened = read_snapshot(bpy.context, brief)
    read = read_file(save(tmp_path / f"{stem}.blend"), brief)
    assert (read.name, read.source) == (stem, str(tmp_path / f"{stem}.blend"))
    assert [part.name for part in read.parts] == ["Head", "Piece"]
    for part, again in zip(opened.parts, read.parts, strict=True):
        np.testing.assert_array_equal(part.vertices_mm, again.vertices_mm)
    np.testing.assert_array_equal(opened.motions["jaw"].frames_mm["Head"], read.motions["jaw"].frames_mm["Head"])


def test_the_scripts_of_a_blend_file_do_not_run(build, tmp_path):
    trace = tmp_path / "trace.txt"
    text = bpy.data.texts.new("trap.py")
    text.write(f"open({str(trace)!r}, 'w').write('ran')")
    text.use_module = True
    block = build.key(build.sphere(), "Sculpt", (0.01, 0.0, 0.0), value=0.5)
    curve = build.drive(block, "var", block.id_data, "eval_time")
    curve.driver.expression = f"open({str(trace)!r}, 'w') and 1.0"
    snapshot = read_file(save(tmp_path / "trap.blend"))
    assert not trace.exists()
    assert any("needs Python, which is disabled" in note for note in snapshot.notes)


def text_renamed(path):
    path.write_text("The Salt Orchard, day 3: wardens wade out.\n" * 50)


def cut_short(path, share=1 / 3):
    whole = path.read_bytes()
    path.write_bytes(whole[: int(len(whole) * share)])


def cut_late(path):
    cut_short(path, 0.8)


def cut_at_the_end(path):
    cut_short(path, 0.999)


def emptied(path):
    path.write_bytes(b"")


def header_only(path):
    path.write_bytes(path.read_bytes()[:7])


@pytest.mark.parametrize("damage", [text_renamed, cut_short, cut_late, cut_at_the_end, emptied, header_only])
@pytest.mark.parametrize("stem", ["plain", "packed"])
def test_a_damaged_blend_file_is_an_error_that_names_it(build, tmp_path, damage, stem):
    build.sphere(rings=48)
    path = save(tmp_path / f"{stem}.blend")
    damage(path)
    with pytest.raises(UnreadableFile, match=rf"{stem}\.blend: cannot be read: ."):
        read_file(path)


@pytest.mark.parametrize("kind", ["obj", "ply", "stl"])
@pytest.mark.parametrize("unit", UNITS)
def test_bare_meshes_take_the_stated_unit(build, tmp_path, performer, kind, unit):
    piece = build.box(size=np.array([0.02, 0.03, 0.04]) / UNITS[unit])
    piece.location = np.array([0.0, -0.1, 0.05]) / UNITS[unit]
    path = export(tmp_path / f"tusk.{kind}")
    text = f'[units]\nmesh_files = "{unit}"\n[base]\nfile = "performer.blend"\n' + JAW
    snapshot = read_file(path, brief_beside(tmp_path, text))
    (appliance,) = snapshot.with_role(Role.APPLIANCE)
    np.testing.assert_allclose(np.ptp(appliance.vertices_mm, axis=0), [20.0, 30.0, 40.0], atol=2e-3)
    np.testing.assert_allclose(appliance.vertices_mm.mean(axis=0), [0.0, -100.0, 50.0], atol=2e-3)
    assert len(appliance.vertices_mm) == 8
    assert any("taken as an appliance" in note for note in snapshot.notes)


@pytest.mark.parametrize("kind", ["obj", "ply", "stl"])
def test_bare_meshes_without_a_unit_are_an_error(build, tmp_path, kind):
    build.box()
    with pytest.raises(UnitsNotStated, match=r"mesh_files = \"mm\""):
        read_file(export(tmp_path / f"tusk.{kind}"))


@pytest.mark.parametrize("kind", ["glb", "gltf", "fbx", pytest.param("usdc", marks=needs_usd)])
def test_scene_formats_carry_their_unit_and_roles(build, tmp_path, kind):
    if kind == "usdc" and bpy.app.version < (4, 5, 0):
        pytest.skip("this Blender does not tell the unit of binary USD")
    build.sphere().data.uv_layers.new()
    piece = build.box()
    piece.location = (0.01, -0.1, 0.05)
    snapshot = read_file(export(tmp_path / f"warden.{kind}"))
    sizes = {str(part.role): np.ptp(part.vertices_mm, axis=0) for part in snapshot.parts}
    np.testing.assert_allclose(sizes["base"], 200.0, atol=0.01)
    np.testing.assert_allclose(sizes["appliance"], [20.0, 30.0, 40.0], atol=0.01)
    (appliance,) = snapshot.with_role(Role.APPLIANCE)
    np.testing.assert_allclose(appliance.vertices_mm.mean(axis=0), [10.0, -100.0, 50.0], atol=0.01)
    assert len(snapshot.base.vertices_mm) == 1106


@needs_usd
@pytest.mark.parametrize("metres", [0.001, 0.01, 0.0254, 1.0, None])
def test_usd_takes_its_own_unit(tmp_path, performer, metres):
    path = tmp_path / "tusk.usda"
    path.write_text(USDA.format(unit=f"    metersPerUnit = {metres}\n" if metres else ""))
    snapshot = read_file(path, brief_beside(tmp_path, '[base]\nfile = "performer.blend"'))
    (tusk,) = snapshot.with_role(Role.APPLIANCE)
    expected = np.array([10.0, 20.0, 30.0]) * (metres or 0.01) * 1000.0
    np.testing.assert_allclose(np.ptp(tusk.vertices_mm, axis=0), expected, rtol=1e-5)


def test_keys_of_scene_formats_pose(build, tmp_path):
    head = build.sphere()
    head.data.uv_layers.new()
    build.key(head, "JawOpen", (0.0, 0.0, -0.03))
    snapshot = read_file(export(tmp_path / "warden.glb"), parse_brief(JAW))
    frames = snapshot.motions["jaw"].frames_mm["Head"]
    assert frames.shape == (2, 1106, 3)
    np.testing.assert_allclose((frames[1] - frames[0]).mean(axis=0), [0.0, 0.0, -30.0], atol=1e-3)


def test_a_bare_mesh_wears_the_base_with_its_motion_teeth_and_landmarks(build, tmp_path, performer):
    build.box("Cheek")
    build.box("Head")
    path = export(tmp_path / "hollow.obj")
    text = JAW + '[units]\nmesh_files = "m"\n[base]\nfile = "performer.blend"\nobject = "Head"\n'
    snapshot = read_file(path, brief_beside(tmp_path, text + '[roles]\nappliance = ["*"]'))
    assert {part.name: str(part.role) for part in snapshot.parts} == {
        "Head": "base",
        "Teeth": "lower_teeth",
        "Cheek": "appliance",
    }
    assert list(snapshot.motions["jaw"].frames_mm) == ["Head"]
    np.testing.assert_allclose(snapshot.landmarks["gnathion"], [0.0, -100.0, -50.0], atol=1e-4)


def test_teeth_of_the_design_stand_in_for_those_of_the_base(build, tmp_path, performer):
    build.box("Teeth", size=(0.01, 0.01, 0.01))
    path = export(tmp_path / "tusks.obj")
    text = '[units]\nmesh_files = "m"\n[base]\nfile = "performer.blend"\n[roles]\nlower_teeth = ["Teeth"]'
    (teeth,) = read_file(path, brief_beside(tmp_path, text)).with_role(Role.LOWER_TEETH)
    assert np.ptp(teeth.vertices_mm) == pytest.approx(10.0, abs=0.01)


def test_a_saved_snapshot_can_be_the_base(build, tmp_path, performer):
    saved = read_file(performer, parse_brief(JAW))
    save_snapshot(saved, tmp_path / "performer.npz")
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    build.box("Cheek")
    path = export(tmp_path / "cheek.stl")
    text = JAW + '[units]\nmesh_files = "m"\n[base]\nfile = "performer.npz"'
    snapshot = read_file(path, brief_beside(tmp_path, text))
    assert sorted(str(part.role) for part in snapshot.parts) == ["appliance", "base", "lower_teeth"]
    assert snapshot.motions["jaw"].moves("Head")


def test_a_bare_mesh_can_be_the_base_when_it_is_the_only_one(build, tmp_path):
    build.sphere("Scan", None)
    export(tmp_path / "scan.obj")
    build.box("Second", None)
    export(tmp_path / "two.obj")
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    build.box("Cheek")
    path = export(tmp_path / "cheek.stl")
    text = '[units]\nmesh_files = "m"\n[base]\nfile = "{}"'
    assert read_file(path, brief_beside(tmp_path, text.format("scan.obj"))).base.name == "Scan"
    with pytest.raises(WhichBase, match=r"2 meshes.*\(Scan, Second\)"):
        read_file(path, brief_beside(tmp_path, text.format("two.obj")))


def test_a_blend_without_a_base_takes_the_one_of_the_brief(build, tmp_path, performer):
    build.box("Cheek")
    path = save(tmp_path / "cheek.blend")
    assert read_file(path, brief_beside(tmp_path, '[base]\nfile = "performer.blend"')).base.name == "Head"


def test_a_base_that_is_not_there_or_not_named_is_an_error(build, tmp_path, performer):
    build.box("Cheek")
    path = export(tmp_path / "cheek.stl")
    units = '[units]\nmesh_files = "m"\n'
    with pytest.raises(BaseNotStated, match=r"cheek.stl.*\[base\] file"):
        read_file(path, brief_beside(tmp_path, units))
    with pytest.raises(UnreadableFile, match=r"nobody.blend.*not there"):
        read_file(path, brief_beside(tmp_path, units + '[base]\nfile = "nobody.blend"'))
    with pytest.raises(NoSuchObject, match=r"'Face' is not there. Meshes found: Head, Teeth"):
        read_file(path, brief_beside(tmp_path, units + '[base]\nfile = "performer.blend"\nobject = "Face"'))


def test_a_key_that_neither_design_nor_base_has_is_said(build, tmp_path, performer):
    build.box("Cheek")
    path = export(tmp_path / "cheek.stl")
    text = '[units]\nmesh_files = "m"\n[base]\nfile = "performer.blend"\n'
    text += "[motions.blink]\nkeys = { Lid = [0.0, 1.0] }"
    snapshot = read_file(path, brief_beside(tmp_path, text))
    assert re.search(r"'Lid'.*Keys found: JawOpen", snapshot.lost_motions["blink"])


@pytest.mark.parametrize("kind", ["obj", "ply", "stl", "glb", "gltf", "fbx", "usda", "usdc"])
@pytest.mark.parametrize("content", [b"", b"The Salt Orchard\n" * 100], ids=["empty", "words"])
def test_files_that_are_not_what_they_say_are_errors(tmp_path, kind, content):
    path = tmp_path / f"tusk.{kind}"
    path.write_bytes(content)
    with pytest.raises(UnreadableFile, match=rf"tusk\.{kind}: cannot be read: ."):
        read_file(path, parse_brief('[units]\nmesh_files = "mm"'))


def test_a_blender_without_usd_says_so(tmp_path, monkeypatch):
    """Distributions build Blender without USD; there it is so, elsewhere it is made so."""
    path = tmp_path / "tusk.usda"
    path.write_text(USDA.format(unit=""))
    monkeypatch.setattr("dryfit.scene.usd_units.blender", without_usd)
    with pytest.raises(UnreadableFile, match=r"tusk\.usda: cannot be read: .*built without USD; use glTF"):
        read_file(path, parse_brief(""))


def without_usd():
    wm = SimpleNamespace(**{name: None for name in dir(bpy.ops.wm) if name != "usd_import"})
    return SimpleNamespace(ops=SimpleNamespace(wm=wm), app=bpy.app)


def read_elsewhere(path):
    script = f"from dryfit.scene.reading import read_file; print(len(read_file({str(path)!r}).parts))"
    return subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)


@needs_module
def test_reading_prints_nothing_on_standard_output_and_exits_clean(build, tmp_path):
    block = build.key(build.sphere(), "Sculpt", (0.01, 0.0, 0.0))
    build.drive(block, "var", block.id_data, "eval_time").driver.expression = "len('warden') * 0.1"
    read = read_elsewhere(save(tmp_path / "warden.blend"))
    assert (read.stdout, read.returncode) == ("1\n", 0)


@needs_module
def test_a_failing_reading_exits_as_python_does(build, tmp_path):
    block = build.key(build.sphere(role="bass"), "Sculpt", (0.01, 0.0, 0.0))
    build.drive(block, "var", block.id_data, "eval_time").driver.expression = "len('warden') * 0.1"
    read = read_elsewhere(save(tmp_path / "warden.blend"))
    assert read.returncode == 1
    assert "UnknownRole" in read.stderr


def test_a_file_is_closed_after_reading(build, tmp_path):
    build.sphere()
    read_file(save(tmp_path / "warden.blend"))
    assert not bpy.data.objects
    assert not bpy.data.filepath
