"""The cage of a room: looked at and sculpted under, never selected, rendered or measured, whatever is done to it."""

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.model.brief import Brief  # noqa: E402
from dryfit.model.snapshot import Role  # noqa: E402
from dryfit.scene.design_file import read_design  # noqa: E402
from dryfit.scene.roles import played_roles  # noqa: E402
from dryfit.sitting.freshness import look  # noqa: E402
from dryfit.sitting.open_design import read_open_snapshot  # noqa: E402
from dryfit.sitting.room.kept_room import standing_cage  # noqa: E402
from given_room import keep_given_room  # noqa: E402

ALL = Brief(roles={Role.BASE: ("Head",), Role.APPLIANCE: ("*",)})
PARTS = {"Head", "CheekBark"}


@pytest.fixture
def caged(design):
    design.room = keep_given_room(bpy.context)
    design.cage = standing_cage(design.scene)
    return design


def parts_in(scene, brief=ALL):
    return {each.name for each in played_roles(scene.objects, brief)}


def copy_of(item):
    other = item.copy()
    other.data = item.data.copy()
    bpy.context.scene.collection.objects.link(other)
    bpy.context.view_layer.update()
    return other


def test_it_stands_at_the_height_of_the_room(caged):
    flat = np.empty(3 * len(caged.cage.data.vertices))
    caged.cage.data.vertices.foreach_get("co", flat)
    far = np.linalg.norm(flat.reshape(-1, 3), axis=1) * 1000.0 - 100.0
    assert far.min() == pytest.approx(1.0, abs=0.01) and far.max() == pytest.approx(6.0, abs=0.01)
    known = np.isfinite(caged.room.room_mm)[caged.room.faces].all(axis=1)
    assert len(caged.cage.data.polygons) == known.sum() < len(caged.room.faces), "no cage where room is not known"
    assert {each.value for each in caged.cage.data.attributes["dryfit_room_mm"].data} == {1.0, 6.0}


def test_nobody_selects_or_renders_it(caged):
    assert caged.cage["dryfit_role"] == "ignore" and caged.cage.hide_select and caged.cage.hide_render
    bpy.ops.object.select_all(action="SELECT")
    assert not caged.cage.select_get() and caged.piece.select_get()


def test_no_pattern_of_a_brief_makes_it_a_part(caged):
    assert parts_in(caged.scene) == PARTS == parts_in(caged.scene, Brief())


def test_the_command_line_reads_the_same_parts(caged, tmp_path):
    copy_of(caged.cage).name = "CheekSpike"
    path = tmp_path / "design.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    for brief in (ALL, Brief()):
        read = read_design(path, brief).snapshot
        assert {part.name for part in read.parts} == PARTS and not read.unmeasured


def test_copies_other_names_and_edits_of_it_are_no_parts(caged):
    copy_of(caged.cage)
    caged.cage.name = "CheekLump"
    for vertex in caged.cage.data.vertices:
        vertex.co *= 0.98
    read = read_open_snapshot(bpy.context)
    assert {part.name for part in read.parts} == PARTS and not read.unmeasured
    assert standing_cage(caged.scene) == caged.cage, "found again under another name"


def test_one_without_its_role_is_still_no_part_and_one_that_was_given_another_is(caged):
    other = copy_of(caged.cage)
    del other["dryfit_role"]
    assert parts_in(caged.scene, Brief()) == PARTS and not read_open_snapshot(bpy.context).unmeasured
    other["dryfit_role"] = "appliance"
    assert parts_in(caged.scene, Brief()) == PARTS | {other.name}, "who makes a form of a copy has it measured"


def test_instances_of_it_are_no_parts(caged):
    group = bpy.data.collections.new("Kept")
    group.objects.link(caged.cage)
    shower = bpy.data.objects.new("Shower", None)
    shower.instance_type, shower.instance_collection = "COLLECTION", group
    caged.scene.collection.objects.link(shower)
    bpy.context.view_layer.update()
    read = read_open_snapshot(bpy.context)
    assert {part.name for part in read.parts} == PARTS and not read.unmeasured


def test_measuring_again_puts_it_right_and_leaves_copies_alone(caged):
    other = copy_of(caged.cage)
    materials = len(bpy.data.materials)
    caged.cage.name, caged.cage.location.x = "Mine", 0.3
    caged.cage.hide_select = False
    bpy.ops.dryfit.show_cage()
    keep_given_room(bpy.context, height_mm=9.0)
    bpy.context.view_layer.update()
    cage = standing_cage(caged.scene)
    assert cage == caged.cage and cage.name == "Mine" and not cage.hide_get() and cage.hide_select
    assert tuple(cage.matrix_world.translation) == (0.0, 0.0, 0.0)
    assert max(each.value for each in cage.data.attributes["dryfit_room_mm"].data) == 9.0
    assert max(each.value for each in other.data.attributes["dryfit_room_mm"].data) == 6.0
    assert len(bpy.data.materials) == materials and len([each for each in bpy.data.meshes if not each.users]) == 0


def test_a_deleted_one_is_said_and_made_again(caged):
    bpy.data.objects.remove(caged.cage)
    assert standing_cage(caged.scene) is None and not bpy.ops.dryfit.show_cage.poll()
    look(caged.scene, thoroughly=True)
    assert not caged.bench.room_outdated, "the room itself still holds"
    keep_given_room(bpy.context)
    assert standing_cage(caged.scene) is not None


def test_the_button_shows_and_hides_it(caged):
    assert not caged.cage.visible_get(), "hidden until it is asked for"
    assert bpy.ops.dryfit.show_cage() == {"FINISHED"} and caged.cage.visible_get()
    assert bpy.ops.dryfit.show_cage() == {"FINISHED"} and not caged.cage.visible_get()


def test_units_of_the_scene_are_its_units(design):
    design.scene.unit_settings.scale_length = 0.001
    for item in (design.head, design.piece):
        item.scale = (1000.0, 1000.0, 1000.0)
    bpy.context.view_layer.update()
    keep_given_room(bpy.context)
    bpy.context.view_layer.update()
    assert max(standing_cage(design.scene).dimensions) == pytest.approx(212.0, abs=1.0)
