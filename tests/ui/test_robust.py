"""What a day's work does to a scene: undo, rename, delete, link, override, hide, switch modes, copy scenes."""

import json

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from bench_scene import findings  # noqa: E402
from dryfit.sitting import live  # noqa: E402
from dryfit.sitting.live_values import live_values, live_words  # noqa: E402
from dryfit.sitting.painting import painted_now  # noqa: E402
from dryfit.sitting.stored_report import finding_elements, stored_report  # noqa: E402


def remember(word):
    bpy.ops.ed.undo_push(message=word)


def listed(bench):
    return [(item.name, round(item.value, 5), item.exception) for item in bench.findings]


@pytest.fixture
def followed(checked):
    assert bpy.ops.dryfit.follow_strokes() == {"FINISHED"}
    yield checked
    live.stop_live("")


def test_undo_and_redo_bring_results_exceptions_and_limits_along(design):
    remember("before")
    bpy.ops.dryfit.check_fit(only="additive")
    remember("checked")
    before = listed(bpy.context.scene.dryfit)
    bench = bpy.context.scene.dryfit
    (bench.picked,) = findings(bench, "lift")
    bpy.ops.dryfit.accept_finding(reason="a digital zone", by="Ida")
    bench.limits.additive_tolerance_mm = 1.5
    remember("accepted")
    after = listed(bpy.context.scene.dryfit)
    assert after != before
    bpy.ops.ed.undo()
    scene = bpy.context.scene
    assert listed(scene.dryfit) == before
    assert "dryfit_exceptions" not in scene and "dryfit_limits" not in scene
    bpy.ops.ed.undo()
    assert not bpy.context.scene.dryfit.verdict and stored_report(bpy.context.scene) == {}
    bpy.ops.ed.redo()
    bpy.ops.ed.redo()
    scene = bpy.context.scene
    assert listed(scene.dryfit) == after
    assert json.loads(scene["dryfit_limits"]) == {"additive_tolerance_mm": 1.5}


def test_undo_while_live_measures_what_the_undo_brought_back(followed):
    remember("before")
    before = live.watching().pieces[0].following.verdict().depth_mm
    piece = bpy.data.objects["CheekBark"]
    for vertex in piece.data.vertices:
        vertex.co.y += 0.001
    piece.data.update()
    remember("pushed")
    live._tick()
    assert live.watching().pieces[0].following.verdict().depth_mm == pytest.approx(before + 1.0, abs=0.1)
    bpy.ops.ed.undo()
    live._tick()
    assert live.watching() is not None, live_words()
    assert live.watching().pieces[0].following.verdict().depth_mm == pytest.approx(before, abs=1e-4)


def test_live_goes_on_under_another_name_and_paints_the_new_values(followed):
    followed.piece.name = "Barked"
    followed.piece.data.vertices[0].co.y += 0.001
    live._tick()
    assert live.watching().pieces[0].name == "Barked"
    (painted,) = [each for each in painted_now(followed.scene) if each.item.name == "Barked"]
    assert painted.live is live_values("Barked") and live_values("CheekBark") is None


def test_live_stops_with_a_word_when_the_piece_is_deleted(followed):
    bpy.data.objects.remove(followed.piece)
    live._tick()
    assert live.watching() is None
    assert "removed" in live_words()


def test_live_stops_when_its_scene_is_deleted(followed):
    other = bpy.data.scenes.new("Other")
    bpy.context.window.scene = other
    bpy.data.scenes.remove(bpy.data.scenes["Scene"])
    live._tick()
    assert live.watching() is None


def test_a_stroke_in_sculpt_mode_with_a_shape_key_is_followed(design):
    design.piece.shape_key_add(name="Basis")
    key = design.piece.shape_key_add(name="Heavier", from_mix=False)
    key.value = 1.0
    bpy.ops.dryfit.check_fit(only="additive")
    bpy.ops.dryfit.follow_strokes()
    before = live.watching().pieces[0].following.verdict().depth_mm
    for point in key.data:
        point.co.y += 0.001
    design.piece.data.update()
    bpy.context.view_layer.update()
    live._tick()
    assert live.watching().pieces[0].following.verdict().depth_mm == pytest.approx(before + 1.0, abs=0.1)
    live.stop_live("")


def test_multiresolution_is_measured_but_left_out_of_live_with_a_word(design, capsys):
    design.piece.modifiers.new("levels", "MULTIRES")
    bpy.context.view_layer.objects.active = design.piece
    bpy.ops.object.multires_subdivide(modifier="levels")
    assert bpy.ops.dryfit.check_fit(only="additive") == {"FINISHED"}
    assert findings(design.bench, "lift")
    bpy.ops.dryfit.follow_strokes()
    assert live.watching().left_out == ["CheekBark"]
    live.stop_live("")


@pytest.mark.parametrize("mode", ["EDIT", "SCULPT", "WEIGHT_PAINT"])
def test_a_check_in_another_mode_finds_the_same_and_stays_in_it(checked, mode):
    before = listed(checked.bench)
    bpy.context.view_layer.objects.active = checked.piece
    bpy.ops.object.mode_set(mode=mode)
    assert bpy.ops.dryfit.check_fit(only="additive,edge") == {"FINISHED"}
    assert checked.piece.mode == mode
    assert listed(checked.bench) == before
    bpy.ops.object.mode_set(mode="OBJECT")


def test_a_piece_in_a_hidden_collection_is_measured_and_stays_hidden(checked):
    before = listed(checked.bench)
    collection = bpy.data.collections.new("Stored")
    checked.scene.collection.children.link(collection)
    collection.objects.link(checked.piece)
    checked.scene.collection.objects.unlink(checked.piece)
    bpy.context.view_layer.layer_collection.children["Stored"].hide_viewport = True
    assert bpy.ops.dryfit.check_fit(only="additive,edge") == {"FINISHED"}
    assert listed(checked.bench) == before
    (checked.bench.picked,) = findings(checked.bench, "lift")
    assert bpy.context.view_layer.layer_collection.children["Stored"].hide_viewport


def test_an_override_is_measured_listed_and_keeps_its_source_untouched(checked, tmp_path):
    """A piece from a library, overridden here: the override's own role, place and material count."""
    before = listed(checked.bench)
    override = overridden(checked, tmp_path)
    assert override.override_library is not None
    assert bpy.ops.dryfit.check_fit(only="additive,edge") == {"FINISHED"}
    assert listed(checked.bench) == before
    checked.bench.paint = True
    assert not [each.name for each in override.data.attributes if each.name.startswith("dryfit_")]
    (checked.bench.picked,) = findings(checked.bench, "lift")
    with pytest.raises(RuntimeError, match="make it local"):
        bpy.ops.dryfit.mend_finding()
    override.location.y = -0.01
    bpy.context.view_layer.update()
    bpy.ops.dryfit.check_fit(only="additive")
    assert not [each for each in findings(checked.bench, "lift") if checked.bench.findings[each].value > 1.0]
    bpy.ops.dryfit.follow_strokes()
    live._tick()
    assert live.watching() is not None
    live.stop_live("")


def overridden(design, tmp_path):
    """The piece from a library, overridden in this file."""
    path = str(tmp_path / "parts.blend")
    bpy.data.libraries.write(path, {design.piece})
    bpy.data.objects.remove(design.piece)
    with bpy.data.libraries.load(path, link=True) as (_, target):
        target.objects = ["CheekBark"]
    design.scene.collection.objects.link(target.objects[0])
    override = target.objects[0].override_create(remap_local_usages=True)
    for each in bpy.context.view_layer.objects:
        each.select_set(each == override)
    bpy.context.view_layer.objects.active = override
    return override


@pytest.mark.parametrize("role", ["hardware", "none"])
def test_a_role_given_to_an_override_is_saved_with_the_file(design, tmp_path, role):
    overridden(design, tmp_path)
    bpy.ops.dryfit.assign_role(role=role)
    kept = str(tmp_path / "design.blend")
    bpy.ops.wm.save_as_mainfile(filepath=kept)
    bpy.ops.wm.open_mainfile(filepath=kept)
    (again,) = [each for each in bpy.context.scene.objects if each.override_library is not None]
    assert again["dryfit_role"] == ("hardware" if role == "hardware" else "")


def test_a_role_that_saving_would_lose_is_refused_with_what_to_do(design, tmp_path):
    del design.piece["dryfit_role"]
    override = overridden(design, tmp_path)
    with pytest.raises(RuntimeError, match="make the piece local"):
        bpy.ops.dryfit.assign_role(role="hardware")
    assert "dryfit_role" not in override


def test_two_scenes_are_checked_painted_and_cleared_apart(checked):
    first = checked.scene
    other = first.copy()
    other.name = "Fitting two"
    bpy.context.window.scene = other
    assert other.dryfit.verdict, "a copied scene brings its results along"
    other.dryfit.limits.additive_tolerance_mm = 5.0
    bpy.ops.dryfit.check_fit(only="additive")
    assert not findings(other.dryfit, "lift")
    assert findings(first.dryfit, "lift") and "dryfit_limits" not in first


def test_elements_survive_a_report_of_the_other_checks(checked):
    (hollow,) = findings(checked.bench, "lift")
    before = finding_elements(checked.scene, "additive", checked.bench.findings[hollow].name)
    bpy.ops.dryfit.check_fit(only="edge")
    assert np.array_equal(finding_elements(checked.scene, "additive", checked.bench.findings[hollow].name), before)
