"""Passes of an EXR, read back by OpenEXR's own library and held against a ray cast that knows nothing of Blender's."""

import os
import signal
import subprocess
import sys
import time

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
OpenEXR = pytest.importorskip("OpenEXR", reason="needs the openexr package to read what was rendered")
from dryfit.cli import main  # noqa: E402
from dryfit.geometry import Surface  # noqa: E402
from dryfit.model.brief import Brief  # noqa: E402
from dryfit.model.finding import Status  # noqa: E402
from dryfit.model.interrupt import INTERRUPTED, STOPPED  # noqa: E402
from dryfit.model.stamp import Stamp, read_line  # noqa: E402
from dryfit.scene.render_passes import NoCamera, NothingToRender, PassField, ShotSettings, render_passes  # noqa: E402
from dryfit.sitting.stored_report import field_values, stored_fields  # noqa: E402

SIZE, WIDE = 96, 0.12
"""Pixels a side, and metres that they show."""


@pytest.fixture
def filmed(checked):
    """The checked design before a camera without perspective, in a scene with settings of its own."""
    data = bpy.data.cameras.new("Camera")
    data.type, data.ortho_scale = "ORTHO", WIDE
    data.dof.use_dof = True
    camera = bpy.data.objects.new("Camera", data)
    camera.location, camera.rotation_euler = (0.0, -0.6, 0.0), (np.pi / 2, 0.0, 0.0)
    checked.scene.collection.objects.link(camera)
    checked.scene.camera = camera
    checked.scene.render.resolution_x = checked.scene.render.resolution_y = SIZE
    checked.scene["dryfit_at_render"] = "refuse_fail"
    image = checked.scene.render.image_settings
    image.file_format, image.color_mode, image.color_depth = "PNG", "RGB", "16"
    bpy.context.view_layer.material_override = bpy.data.materials.new("Look")
    bpy.context.view_layer.update()
    return checked


def fields_of(design, name="clearance"):
    return [
        PassField(each.name, each.part, each.unit, field_values(design.scene, each))
        for each in stored_fields(design.scene)
        if each.name == name
    ]


def channels(path):
    with OpenEXR.File(str(path), separate_channels=True) as file:
        return {name: each.pixels for part in file.parts for name, each in part.channels.items()}


def cast(item, values):
    """The value under the middle of each pixel, by our own rays; nan beside the piece."""
    mesh = item.data
    mesh.calc_loop_triangles()
    vertices = np.array([tuple(vertex.co) for vertex in mesh.vertices])
    surface = Surface(vertices * 1000.0, np.array([tuple(each.vertices) for each in mesh.loop_triangles]))
    middle = ((np.arange(SIZE) + 0.5) / SIZE - 0.5) * WIDE * 1000.0
    x, z = np.meshgrid(middle, -middle)
    origins = np.stack([x.ravel(), np.full(x.size, -600.0), z.ravel()], axis=1)
    hit = surface.first_hit(origins, np.tile([0.0, 1.0, 0.0], (len(origins), 1)))
    found = np.full(len(origins), np.nan)
    seen = hit.face >= 0
    corners = surface.faces[hit.face[seen]]
    found[seen] = (values[corners] * hit.barycentric[seen]).sum(axis=1)
    return found.reshape(SIZE, SIZE)


def test_each_pixel_holds_the_figure_of_the_place_it_shows(filmed, tmp_path):
    (field,) = fields_of(filmed)
    done = render_passes(filmed.scene, Brief(), [field], tmp_path / "passes.exr", ShotSettings(samples=64))
    assert done.passes == ("dryfit_clearance_mm", "dryfit_clearance_known")
    found = channels(done.path)
    value, known = (found[f"ViewLayer.{name}.X"] for name in done.passes)
    expected = cast(filmed.piece, field.values)
    inside = known > 0.999
    assert inside.sum() > 3000
    figure = value / np.maximum(known, 1e-9)
    around = np.stack([np.roll(expected, step, (0, 1)) for step in np.ndindex(3, 3)])
    around = np.roll(around, (-1, -1), (1, 2))[:, inside]
    assert (figure[inside] >= np.nanmin(around, axis=0) - 0.02).all(), "between the figures of the pixels around it, mm"
    assert (figure[inside] <= np.nanmax(around, axis=0) + 0.02).all()
    off_mm = np.abs(figure - expected)[inside]
    assert np.median(off_mm) < 0.01 and np.percentile(off_mm, 95) < 0.1
    assert (value / np.maximum(known, 1e-9))[inside].min() == pytest.approx(-2.5, abs=0.1), "the hollow is seen"
    assert done.base_deeper_mm == pytest.approx(3.0, abs=0.1)
    assert (known[np.isnan(expected)] < 1.0).all()
    assert (found["ViewLayer.Combined.A"][inside] > 0.999).all()


def test_a_place_that_was_not_measured_is_told_from_a_zero(filmed, tmp_path):
    (field,) = fields_of(filmed)
    left = np.array([vertex.co.x > 0.0 for vertex in filmed.piece.data.vertices])
    half = PassField("clearance", field.part, "mm", np.where(left, 7.0, np.nan))
    done = render_passes(filmed.scene, Brief(), [half], tmp_path / "half.exr", ShotSettings(samples=4))
    found = channels(done.path)
    value, known = (found[f"ViewLayer.{name}.X"] for name in done.passes)
    sure = known > 0.999
    assert np.allclose(value[sure], 7.0, atol=1e-4)
    assert sure[:, SIZE // 2 + 3 :].sum() > 1000 and not sure[:, : SIZE // 2 - 3].any()
    assert (value[known == 0.0] == 0.0).all()


def test_the_scene_is_left_as_it_was(filmed, tmp_path):
    before = scene_state(filmed)
    render_passes(
        filmed.scene, Brief(), fields_of(filmed), tmp_path / "passes.exr", ShotSettings(1, "Camera", (32, 24))
    )
    assert scene_state(filmed) == before
    assert next(iter(channels(tmp_path / "passes.exr").values())).shape == (24, 32)
    with pytest.raises(NothingToRender):
        render_passes(filmed.scene, Brief(), [], tmp_path / "none.exr")
    assert scene_state(filmed) == before
    assert [each.name for each in tmp_path.iterdir()] == ["passes.exr"]


def scene_state(design):
    render, layer = design.scene.render, bpy.context.view_layer
    image = render.image_settings
    return (
        [sorted(each.name for each in block) for block in (bpy.data.objects, bpy.data.meshes, bpy.data.materials)],
        [(each.name, each.hide_render) for each in bpy.data.objects],
        (image.file_format, image.color_mode, image.color_depth, image.exr_codec),
        (render.engine, render.filepath, render.film_transparent, render.use_stamp_note, render.stamp_note_text),
        (render.resolution_x, render.resolution_y, render.resolution_percentage, render.use_compositing),
        (layer.material_override.name, len(layer.aovs), layer.use, design.scene.camera.data.dof.use_dof),
        (design.scene.cycles.samples, design.scene.cycles.max_bounces, design.scene.cycles.pixel_filter_type),
        (design.scene["dryfit_at_render"], [each.name for each in design.piece.data.attributes]),
    )


def test_the_metadata_says_whose_figures_these_are(filmed, tmp_path):
    stamp = Stamp(str(Status.FAIL), "03-warden", version="0.1.0")
    render_passes(filmed.scene, Brief(), fields_of(filmed), tmp_path / "passes.exr", ShotSettings(1), stamp)
    with OpenEXR.File(str(tmp_path / "passes.exr")) as file:
        assert read_line(file.header()["Note"]) == stamp


def test_a_piece_that_changed_is_left_out_with_a_word(filmed, tmp_path):
    (field,) = fields_of(filmed)
    short = PassField("thickness", field.part, "mm", field.values[:-3])
    gone = PassField("clearance", "Horn", "mm", field.values)
    done = render_passes(filmed.scene, Brief(), [field, short, gone], tmp_path / "passes.exr", ShotSettings(1))
    assert done.passes == ("dryfit_clearance_mm", "dryfit_clearance_known")
    assert [line.partition(":")[0] for line in done.left_out] == ["thickness on 'CheekBark'", "clearance on 'Horn'"]


def test_a_rebuilt_piece_and_a_library_of_shared_data_carry_their_values(filmed, tmp_path):
    filmed.piece.modifiers.new("finer", "SUBSURF").levels = 1
    twin = filmed.piece.copy()
    twin.name, twin["dryfit_role"] = "Twin", "ignore"
    filmed.scene.collection.objects.link(twin)
    twin.location.z = 0.3
    bpy.ops.dryfit.check_fit(only="additive")
    (field,) = fields_of(filmed)
    assert len(field.values) > len(filmed.piece.data.vertices)
    done = render_passes(filmed.scene, Brief(), [field], tmp_path / "passes.exr", ShotSettings(4))
    assert not done.left_out
    known = channels(done.path)["ViewLayer.dryfit_clearance_known.X"]
    assert (known > 0.999).sum() > 3000


def test_without_a_camera_it_says_what_to_do(filmed, tmp_path):
    with pytest.raises(NoCamera, match="Cameras in it: Camera; name one"):
        render_passes(filmed.scene, Brief(), fields_of(filmed), tmp_path / "x.exr", ShotSettings(camera="ShotCam"))
    filmed.scene.camera = None
    with pytest.raises(NoCamera):
        render_passes(filmed.scene, Brief(), fields_of(filmed), tmp_path / "x.exr")
    assert not list(tmp_path.iterdir())


def test_the_command_line_measures_and_renders_a_file_and_leaves_it_as_it_was(filmed, tmp_path, capsys):
    path = tmp_path / "design.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    before = path.read_bytes()
    asked = ["passes", str(path), "--only", "additive,edge", "--size", "48x32", "--samples", "1"]
    assert main([*asked, "--out", str(tmp_path / "out" / "passes.exr")]) == 0
    said = capsys.readouterr()
    assert "dryfit_thickness_mm" in said.out and "mm deeper" in said.err
    with OpenEXR.File(str(tmp_path / "out" / "passes.exr")) as file:
        assert read_line(file.header()["Note"]).verdict == "fail"
    value = channels(tmp_path / "out" / "passes.exr")["ViewLayer.dryfit_clearance_mm.X"]
    assert value.shape == (32, 48) and -2.55 < value.min() < -2.0
    assert path.read_bytes() == before
    assert main([*asked, "--out", str(tmp_path / "x.exr"), "--camera", "ShotCam"]) == 2
    assert "Cameras in it: Camera" in capsys.readouterr().err


@pytest.mark.skipif(sys.platform == "win32", reason="sends signals as POSIX has them")
def test_one_stop_ends_a_render_at_once_and_leaves_nothing(filmed, tmp_path):
    """Tens of minutes of Cycles, which hears no stop itself: the part file tells that it has begun."""
    place, temporary = tmp_path / "show", tmp_path / "temporary"
    place.mkdir()
    temporary.mkdir()
    bpy.ops.wm.save_as_mainfile(filepath=str(place / "design.blend"))
    asked = ["passes", "design.blend", "--only", "additive", "--out", "x.exr", "--size", "9000x9000"]
    process = subprocess.Popen(
        [sys.executable, "-m", "dryfit", *asked], cwd=place, env={**os.environ, "TMPDIR": str(temporary)},
        stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )  # fmt: skip
    while process.poll() is None and not any(place.glob(".x.*.part.exr")):
        time.sleep(0.02)
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=300)
    assert process.returncode == INTERRUPTED
    assert "Traceback" not in said and said.endswith(f"{STOPPED}\n")
    assert [path.name for path in place.iterdir()] == ["design.blend"]
    assert not [*temporary.iterdir()]
