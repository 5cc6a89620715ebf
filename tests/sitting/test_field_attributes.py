"""Measured values kept on the meshes, held against the sphere's own formula and read back from a saved copy."""

import hashlib
import os
from pathlib import Path

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
import dryfit  # noqa: E402
from dryfit.cli import main  # noqa: E402
from dryfit.scene.field_attributes import NothingToWrite, write_field_attributes  # noqa: E402
from dryfit.scene.render_passes import PassField  # noqa: E402
from dryfit.sitting.stored_report import field_values, stored_fields  # noqa: E402

RADIUS_MM = 100.0
CLEARANCE = ("dryfit_clearance_mm", "dryfit_clearance_known")


def values_of(item, name):
    attribute = item.data.attributes[name]
    assert (attribute.data_type, attribute.domain) == ("FLOAT", "POINT")
    values = np.empty(len(attribute.data), np.float32)
    attribute.data.foreach_get("value", values)
    return values


def places_mm(item):
    return 1000.0 * np.array([tuple(vertex.co) for vertex in item.data.vertices])


def ours(item):
    return sorted(each.name for each in item.data.attributes if each.name.startswith("dryfit_"))


def test_each_vertex_carries_its_height_over_the_sphere_in_mm(checked):
    assert bpy.ops.dryfit.write_attributes() == {"FINISHED"}
    value, known = (values_of(checked.piece, name) for name in CLEARANCE)
    assert (known == 1.0).mean() > 0.95 and set(np.unique(known)) <= {0.0, 1.0}
    height_mm = np.linalg.norm(places_mm(checked.piece), axis=1) - RADIUS_MM
    facets_mm = RADIUS_MM * (1.0 - np.cos(np.pi / 128)) * 2.0 + 0.01
    off_mm = (value - height_mm)[known == 1.0]
    assert np.abs(off_mm).max() < facets_mm
    assert value.min() == pytest.approx(-2.5, abs=0.1)


def test_every_field_of_the_report_is_there(checked):
    kept = {(each.part, each.name): field_values(checked.scene, each) for each in stored_fields(checked.scene)}
    assert len({name for _, name in kept}) >= 2
    bpy.ops.dryfit.write_attributes()
    for (part, name), values in kept.items():
        field = PassField(name, part, "mm", values)
        written, known = (values_of(checked.scene.objects[part], each) for each in (field.pass_name, field.known_name))
        assert np.array_equal(known == 1.0, np.isfinite(values))
        assert np.array_equal(written, np.nan_to_num(values).astype(np.float32))


def test_writing_again_replaces_what_was_there_and_removing_leaves_the_users_own(checked):
    checked.piece.data.attributes.new("dryfit_clearance_mine", "FLOAT", "POINT")
    before = ours(checked.piece)
    bpy.ops.dryfit.write_attributes()
    once = ours(checked.piece)
    bpy.ops.dryfit.write_attributes()
    assert ours(checked.piece) == once and len(once) > len(before)
    assert sorted([*checked.piece.data["dryfit_attributes"].split(), "dryfit_clearance_mine"]) == once
    assert bpy.ops.dryfit.remove_attributes() == {"FINISHED"}
    assert ours(checked.piece) == before
    assert not bpy.ops.dryfit.remove_attributes.poll()


def test_paint_comes_and_goes_beside_values_that_stay(checked):
    half = PassField("stretch", "CheekBark", "", np.where(np.arange(len(places_mm(checked.piece))) % 2, 1.5, np.nan))
    write_field_attributes(checked.scene, {"CheekBark": checked.piece}, [half])
    known = values_of(checked.piece, "dryfit_stretch_known")
    assert np.array_equal(known == 1.0, np.isfinite(half.values)), "where it was not measured there is no nan, but 0"
    checked.bench.painted = "clearance"
    checked.bench.paint = True
    assert "dryfit_measured" in ours(checked.piece)
    checked.bench.paint = False
    assert ours(checked.piece) == ["dryfit_stretch", "dryfit_stretch_known"]
    assert np.array_equal(values_of(checked.piece, "dryfit_stretch"), np.nan_to_num(half.values).astype(np.float32))


def test_what_does_not_fit_is_left_out_with_what_to_do(checked):
    count = len(checked.piece.data.vertices)
    twin = checked.piece.copy()
    checked.scene.collection.objects.link(twin)
    parts = {"CheekBark": checked.piece, "Twin": twin}
    field = PassField("clearance", "CheekBark", "mm", np.ones(count))
    others = [
        PassField("wall", "CheekBark", "mm", np.ones(count + 3)),
        PassField("clearance", "Twin", "mm", np.zeros(count)),
        PassField("clearance", "Horn", "mm", np.zeros(count)),
    ]
    written = write_field_attributes(checked.scene, parts, [field, *others])
    assert written.names == {"CheekBark": CLEARANCE}
    said = "\n".join(written.left_out)
    assert f"{count + 3} values for {count} vertices" in said
    assert "shares its mesh with 'CheekBark'" in said and "no such part" in said
    assert (values_of(checked.piece, CLEARANCE[0]) == 1.0).all(), "not the twin's"
    with pytest.raises(NothingToWrite, match="no such part"):
        write_field_attributes(checked.scene, parts, [others[-1]])
    assert ours(checked.piece) == sorted(CLEARANCE), "an earlier run's values stay where nothing new came"


def test_a_piece_that_modifiers_rebuild_is_not_given_the_values_of_other_vertices(checked):
    checked.piece.modifiers.new("finer", "SUBSURF").levels = 1
    bpy.ops.dryfit.check_fit(only="additive")
    (entry,) = (each for each in stored_fields(checked.scene) if each.name == "clearance")
    field = PassField("clearance", "CheekBark", "mm", field_values(checked.scene, entry))
    with pytest.raises(NothingToWrite, match="modifiers rebuild it"):
        write_field_attributes(checked.scene, {"CheekBark": checked.piece}, [field])
    checked.piece.modifiers.clear()
    turned = checked.piece.modifiers.new("turned", "TRIANGULATE")
    assert turned is not None
    same_count = PassField("clearance", "CheekBark", "mm", np.ones(len(checked.piece.data.vertices)))
    bpy.context.view_layer.update()
    with pytest.raises(NothingToWrite, match="modifiers rebuild it"):
        write_field_attributes(checked.scene, {"CheekBark": checked.piece}, [same_count])


def test_the_button_waits_for_a_report(design):
    assert not bpy.ops.dryfit.write_attributes.poll()
    bpy.ops.dryfit.check_fit(only="additive")
    assert bpy.ops.dryfit.write_attributes.poll()


@pytest.fixture
def saved(checked, tmp_path):
    """The design in a file, with a picture beside it that it names by a relative path."""
    path = tmp_path / "warden.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    bpy.data.images.new("bark", 4, 4).filepath = "//bark.png"
    bpy.data.images["bark"].source = "FILE"
    bpy.data.images["bark"].use_fake_user = True
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    return path


def test_the_command_line_writes_a_copy_and_never_the_design(saved, tmp_path, capsys):
    before = hashlib.sha256(saved.read_bytes()).hexdigest()
    expected = dryfit.check(dryfit.load_snapshot(saved), only=["additive", "edge"])
    target = tmp_path / "handed on" / "painted.blend"
    assert main(["passes", str(saved), "--only", "additive,edge", "--blend", str(target)]) == 0
    said = capsys.readouterr().out
    assert str(target) in said and "CheekBark: dryfit_clearance_mm, dryfit_clearance_known" in said
    assert hashlib.sha256(saved.read_bytes()).hexdigest() == before
    assert [each.name for each in target.parent.iterdir()] == ["painted.blend"]
    bpy.ops.wm.open_mainfile(filepath=str(target), load_ui=False)
    piece = bpy.data.objects["CheekBark"]
    assert piece["dryfit_role"] == "appliance"
    assert Path(bpy.path.abspath(bpy.data.images["bark"].filepath)).resolve() == (tmp_path / "bark.png").resolve()
    for check in expected.checks:
        for field in check.fields:
            each = PassField(field.name, field.part, field.unit, field.values)
            written = values_of(bpy.data.objects[field.part], each.pass_name)
            assert np.allclose(written, np.nan_to_num(field.values), atol=1e-5)
            known = values_of(bpy.data.objects[field.part], each.known_name)
            assert np.array_equal(known == 1.0, np.isfinite(field.values))


def test_a_copy_that_would_replace_the_design_is_refused_before_anything_is_measured(saved, capsys, monkeypatch):
    monkeypatch.setattr("dryfit.cli.load_design", lambda *_: pytest.fail("measured first"))
    before = saved.read_bytes()
    os.link(saved, saved.with_name("the same.blend"))
    for target in (
        saved,
        saved.with_name("the same.blend"),
        saved.parent / ".." / saved.parent.name / saved.name,
        saved.with_suffix(".obj"),
    ):
        assert main(["passes", str(saved), "--blend", str(target)]) == 2
        assert "never written" in capsys.readouterr().err
    assert main(["passes", str(saved)]) == 2
    assert "--blend COPY" in capsys.readouterr().err
    assert saved.read_bytes() == before


def test_a_copy_that_cannot_be_written_leaves_nothing(saved, tmp_path, capsys):
    there = tmp_path / "painted.blend"
    there.mkdir()
    assert main(["passes", str(saved), "--only", "additive", "--blend", str(there)]) == 2
    assert "cannot be written" in capsys.readouterr().err
    assert sorted(each.name for each in tmp_path.iterdir() if "part" in each.name) == []
