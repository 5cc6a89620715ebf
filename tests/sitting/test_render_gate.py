"""Renders held back or stamped by the stored verdict; what the picture says is read back from its file."""

import json
import struct
import zlib

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.model.gate import AT_RENDER, RENDER_CHOICES  # noqa: E402
from dryfit.model.stamp import read_line  # noqa: E402
from dryfit.model.version import VERSION  # noqa: E402
from dryfit.sitting.exceptions import apply_exceptions  # noqa: E402
from dryfit.sitting.patient_loan import patiently  # noqa: E402
from dryfit.sitting.render_gate import ENGINE  # noqa: E402
from dryfit.sitting.standing import standing  # noqa: E402
from dryfit.sitting.still_true.design_prints import design_prints  # noqa: E402
from dryfit.sitting.stored_report import forget_report  # noqa: E402
from dryfit.ui import renders  # noqa: E402

PNG = b"\x89PNG\r\n\x1a\n"


@pytest.fixture
def shown(checked, tmp_path):
    """The checked design (its verdict is fail) before a camera, rendered small."""
    camera = bpy.data.objects.new("Camera", bpy.data.cameras.new("Camera"))
    camera.location, camera.rotation_euler = (0.0, -0.6, 0.0), (np.pi / 2, 0.0, 0.0)
    checked.scene.collection.objects.link(camera)
    checked.scene.camera = camera
    render = checked.scene.render
    render.engine, checked.scene.cycles.samples = "CYCLES", 1
    render.resolution_x = render.resolution_y = 32
    render.filepath = str(tmp_path / "still")
    render.image_settings.file_format = "PNG"
    bpy.context.view_layer.update()
    return checked


def sound(design):
    """Make the design one in which nothing is found: its hollow is allowed, and nothing else was looked at."""
    forget_report(design.scene)
    design.bench.limits.additive_tolerance_mm = 5.0
    bpy.ops.dryfit.check_fit(only="additive")
    return design


def rendered(tmp_path, **how):
    bpy.ops.render.render(**({"write_still": True} | how))
    return sorted(tmp_path.glob("still*"))


def png_words(path):
    """The text chunks of a PNG file, by the letter of its specification (ISO/IEC 15948, 11.3.4)."""
    data = path.read_bytes()
    assert data[:8] == PNG
    at, words = 8, {}
    while at < len(data):
        length, kind = struct.unpack(">I4s", data[at : at + 8])
        body = data[at + 8 : at + 8 + length]
        assert struct.unpack(">I", data[at + 8 + length : at + 12 + length])[0] == zlib.crc32(kind + body)
        if kind == b"tEXt":
            name, _, text = body.partition(b"\0")
            words[name.decode()] = text.decode("utf8")
        at += 12 + length
    return words


def render_settings(scene):
    render = scene.render
    return render.engine, render.use_stamp_note, render.stamp_note_text, render.use_stamp, render.filepath


def test_nothing_happens_where_the_scene_asks_for_nothing(shown, tmp_path):
    (picture,) = rendered(tmp_path)
    assert "Dryfit" not in str(png_words(picture))


@pytest.mark.parametrize("how", [{}, {"animation": True, "write_still": False}])
def test_a_failing_design_is_refused_with_the_reason_and_no_picture(shown, tmp_path, how):
    shown.scene[AT_RENDER] = "refuse_fail"
    before = render_settings(shown.scene)
    shown.scene.frame_end = 3
    with pytest.raises(RuntimeError, match=r"Dryfit refused the render: the verdict is fail \(\d+ fail"):
        rendered(tmp_path, **how)
    assert not list(tmp_path.glob("still*"))
    assert render_settings(shown.scene) == before
    shown.scene[AT_RENDER] = ""
    assert rendered(tmp_path)


def test_a_sound_design_is_let_through_and_its_stamp_says_what_was_not_run(shown, tmp_path):
    sound(shown)
    shown.scene[AT_RENDER] = "refuse_review"
    assert shown.bench.checks["additive"].status == "pass"
    before = render_settings(shown.scene)
    (picture,) = rendered(tmp_path)
    stamp = read_line(png_words(picture)["Note"])
    assert (stamp.verdict, stamp.design, stamp.version) == ("not_checked", shown.scene.name, VERSION)
    assert stamp.checks.startswith("1 of 1")
    assert stamp.why.startswith("not measured: base_lock, edge, thickness")
    assert len(stamp.brief) == 12
    assert render_settings(shown.scene) == before


def test_a_review_is_refused_only_where_it_is_asked_for(shown, tmp_path):
    sound(shown)
    report = shown.scene["dryfit_report"].replace('"status": "pass"', '"status": "review"')
    shown.scene["dryfit_report"] = report
    shown.scene[AT_RENDER] = "refuse_fail"
    assert rendered(tmp_path)
    shown.scene[AT_RENDER] = "refuse_review"
    with pytest.raises(RuntimeError, match="the verdict is review"):
        rendered(tmp_path)


def test_the_stamp_follows_the_users_own_note_and_every_frame_carries_it(shown, tmp_path):
    shown.scene[AT_RENDER] = "stamp"
    shown.scene.render.use_stamp_note, shown.scene.render.stamp_note_text = True, "graded by Ida"
    shown.scene.frame_start, shown.scene.frame_end = 1, 2
    before = render_settings(shown.scene)
    pictures = rendered(tmp_path, animation=True, write_still=False)
    assert len(pictures) == 2
    for picture in pictures:
        note = png_words(picture)["Note"]
        assert note.startswith("graded by Ida  Dryfit: verdict=fail; ")
        assert read_line(note).findings == standing(shown.scene).stamp.findings != ""
    assert render_settings(shown.scene) == before


def test_a_report_older_than_an_edit_counts_as_not_checked(shown, tmp_path):
    shown.scene[AT_RENDER] = "refuse_fail"
    shown.piece.data.vertices[5].co.y -= 0.0001
    with pytest.raises(RuntimeError, match=r"counts as not checked, because it was changed since 2 checks.*CheekBark"):
        rendered(tmp_path)
    shown.scene[AT_RENDER] = "stamp"
    (picture,) = rendered(tmp_path)
    stamp = read_line(png_words(picture)["Note"])
    assert stamp.verdict == "not_checked" and "CheekBark" in stamp.why
    bpy.ops.dryfit.check_fit(only="additive")
    assert standing(shown.scene).why.startswith("changed since 1 check "), "one check alone refreshes itself alone"
    bpy.ops.dryfit.check_fit(only="edge")
    assert standing(shown.scene).fresh


def test_a_design_that_nobody_measured_is_refused(shown, tmp_path):
    for name in ("dryfit_report", "dryfit_measured_from"):
        before = shown.scene[name]
        del shown.scene[name]
        shown.scene[AT_RENDER] = "refuse_fail"
        with pytest.raises(RuntimeError, match="counts as not checked"):
            rendered(tmp_path)
        shown.scene[name] = before


def test_a_fault_of_our_own_holds_the_render_back_too(shown, tmp_path, monkeypatch):
    def broken(scene):
        raise ZeroDivisionError

    monkeypatch.setattr("dryfit.sitting.render_gate.standing", broken)
    shown.scene[AT_RENDER] = "refuse_fail"
    with pytest.raises(RuntimeError, match="a fault in Dryfit"):
        rendered(tmp_path)
    assert not list(tmp_path.glob("still*"))


def test_accepting_one_finding_hides_no_failure_of_a_check_that_could_not_measure_all(shown, tmp_path):
    stored = json.loads(shown.scene["dryfit_report"])
    for check in stored["checks"]:
        check["reason"] = "a landmark is missing"
    shown.scene["dryfit_report"] = json.dumps(stored)
    apply_exceptions(shown.scene)
    shown.scene[AT_RENDER] = "refuse_fail"
    with pytest.raises(RuntimeError, match="the verdict is fail"):
        rendered(tmp_path)


def test_a_word_nobody_knows_refuses_and_says_which_there_are(shown, tmp_path):
    shown.scene[AT_RENDER] = "refuse"
    with pytest.raises(RuntimeError, match="set one of stamp, refuse_review, refuse_fail"):
        rendered(tmp_path)


def test_pose_frame_paint_and_looks_are_no_change_of_the_design(shown):
    shown.piece.shape_key_add(name="Basis")
    shown.piece.shape_key_add(name="Smile", from_mix=False).value = 0.0
    before = design_prints(shown.scene)
    shown.piece.data.shape_keys.key_blocks["Smile"].value = 1.0
    shown.scene.frame_set(20)
    shown.bench.paint = True
    shown.piece.data.materials.append(bpy.data.materials.new("Bark"))
    shown.piece.hide_render = True
    assert design_prints(shown.scene) == before


CHANGES = {
    "a vertex": lambda d: setattr(d.piece.data.vertices[9].co, "x", 0.5),
    "a key's shape": lambda d: setattr(d.piece.data.shape_keys.key_blocks["Smile"].data[3].co, "x", 0.5),
    "its place": lambda d: setattr(d.piece, "location", (0.0, -0.001, 0.0)),
    "its role": lambda d: d.piece.__setitem__("dryfit_role", "hardware"),
    "its material": lambda d: d.piece.__setitem__("dryfit_material", "gelatin"),
    "a modifier": lambda d: setattr(d.piece.modifiers["Shell"], "thickness", 0.002),
    "its faces": lambda d: d.piece.data.flip_normals(),
    "the base": lambda d: setattr(d.head.data.vertices[9].co, "x", 0.5),
    "a landmark": lambda d: setattr(bpy.data.objects["sellion"], "location", (0.0, -0.2, 0.0)),
    "a limit": lambda d: setattr(d.bench.limits, "rim_thickness_mm", 0.9),
    "the unit": lambda d: setattr(d.scene.unit_settings, "scale_length", 0.5),
}


@pytest.mark.parametrize("change", CHANGES)
def test_every_change_of_the_design_is_one(shown, change):
    shown.piece.shape_key_add(name="Basis")
    shown.piece.shape_key_add(name="Smile", from_mix=False)
    shown.piece.modifiers.new("Shell", "SOLIDIFY").thickness = 0.001
    before = design_prints(shown.scene)
    CHANGES[change](shown)
    after = design_prints(shown.scene)
    assert sum(before[name] != after[name] for name in before) == 1


def test_the_lock_counts_for_its_own_check_alone(shown):
    bpy.ops.dryfit.check_fit(only="base_lock,additive,edge")
    assert standing(shown.scene).fresh
    shown.head["dryfit_lock_fingerprint"] = "0" * 64
    assert standing(shown.scene).why.startswith("changed since 1 check measured it: the base's lock")


def test_the_sidebar_keeps_the_choice_as_a_plain_property(shown):
    assert bpy.ops.dryfit.gate_renders(choice="refuse_fail") == {"FINISHED"}
    assert shown.scene["dryfit_at_render"] == "refuse_fail"
    bpy.ops.dryfit.gate_renders(choice="off")
    assert "dryfit_at_render" not in shown.scene
    assert {name for name, _, _ in renders.CHOICES} - {"off"} == set(RENDER_CHOICES) - {""}


def test_a_change_waits_until_blender_allows_it():
    tries = []

    def change():
        tries.append(1)
        if len(tries) < 4:
            raise AttributeError("Writing to ID classes in this context is not allowed")

    patiently(change)
    assert len(tries) == 4


def test_the_engine_of_a_refusal_is_gone_with_the_extension(shown):
    import dryfit

    bpy.context.scene.render.engine = ENGINE
    bpy.context.scene.render.engine = "CYCLES"
    dryfit.unregister()
    try:
        handlers = bpy.app.handlers
        for installed in (handlers.render_init, handlers.render_complete, handlers.render_cancel):
            assert not [one for one in installed if "dryfit" in one.__module__]
        with pytest.raises(TypeError):
            bpy.context.scene.render.engine = ENGINE
    finally:
        dryfit.register()
