"""Motions found by name: offered, taken on a click alone, and equal to what they were found in."""

import math
import time

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from test_brief_wins import drawn  # noqa: E402

from dryfit.model.brief import MotionBrief  # noqa: E402
from dryfit.scene.motions import MOTIONS, stored_motions  # noqa: E402
from dryfit.scene.proposing.motion_names import is_jaw_bone, motion_said  # noqa: E402
from dryfit.scene.proposing.motion_proposing import proposed_motions  # noqa: E402
from dryfit.scene.reading import read_snapshot  # noqa: E402
from dryfit.ui.motion_proposing import DRYFIT_PT_proposed_motions, offered  # noqa: E402


@pytest.mark.parametrize(
    ("name", "motion"),
    [
        ("JawOpen", "jaw"), ("jaw_open", "jaw"), ("mouthOpen", "jaw"), ("CTRL_Mouth.Open", "jaw"), ("Jaw", "jaw"),
        ("EyeBlink_L", "blink"), ("eyeBlinkRight", "blink"), ("Eyes Closed", "blink"), ("mouthSmileLeft", "smile"),
        ("browRaise", "brow_raise"), ("BrowsUp", "brow_raise"), ("Pucker", "pucker"), ("mouthPucker", "pucker"),
        ("JawOpen_Smile", ""), ("jawForward", ""), ("jawLeft", ""), ("mouthClose", ""), ("BrowDown", ""), ("Jawline", ""),
        ("Key 1", ""), ("", ""), ("Blinker", ""),
    ],
)  # fmt: skip
def test_what_a_name_says(name, motion):
    assert motion_said(name) == motion


def test_which_bones_are_the_jaws():
    jaws = ("jaw", "Jaw", "jaw_master", "DEF-jaw", "c_jaw.x", "LowerJaw", "mandible", "jaw_bone", "jaw_01")
    assert all(is_jaw_bone(name) for name in jaws)
    assert not any(is_jaw_bone(name) for name in ("jaw.L", "jaw_end", "UpperJaw", "teeth_jaw", "jaw_forward", "head"))


def armature(name="Rig", bones=(("jaw", (0.0, -0.07, 0.0)),), roll_deg=0.0):
    data = bpy.data.armatures.new(name)
    rig = bpy.data.objects.new(name, data)
    bpy.context.scene.collection.objects.link(rig)
    bpy.context.view_layer.objects.active = rig
    bpy.ops.object.mode_set(mode="EDIT")
    for each, tail in bones:
        bone = data.edit_bones.new(each)
        bone.head, bone.tail, bone.roll = (0.0, 0.03, 0.0), tail, math.radians(roll_deg)
    bpy.ops.object.mode_set(mode="OBJECT")
    return rig


def skin(item, rig, bone="jaw"):
    low = [vertex.index for vertex in item.data.vertices if vertex.co.z < -0.02]
    item.vertex_groups.new(name=bone).add(low, 1.0, "REPLACE")
    item.modifiers.new("Armature", "ARMATURE").object = rig


def by_kind(scene):
    return {(each.motion, each.kind): each for each in offered(scene)}


@pytest.mark.parametrize("roll_deg", [0.0, 90.0, 180.0, -90.0])
def test_a_jaw_bone_is_offered_and_a_click_opens_the_mouth(design, roll_deg):
    skin(design.head, armature(roll_deg=roll_deg))
    bone = by_kind(design.scene)["jaw", "bone"].brief.bone
    assert (bone.armature, bone.name) == ("Rig", "jaw") and abs(bone.rotation_deg[1]) == 25.0
    assert MOTIONS not in design.scene, "nothing is taken without a click"
    assert bpy.ops.dryfit.take_motion(motion="jaw", kind="bone") == {"FINISHED"}
    assert stored_motions(design.scene) == {"jaw": MotionBrief(bone=bone)}
    assert not offered(design.scene)
    frames = read_snapshot(bpy.context).motions["jaw"].frames_mm["Head"]
    down = (frames[-1] - frames[0])[np.argmin(frames[0] @ [0.0, 1.0, 1.0])]
    assert down[2] < -20.0 and abs(down[0]) < 0.01


def test_the_bone_that_sets_others_is_offered_and_one_that_cannot_open_is_not(design):
    rig = armature(bones=[("DEF-jaw", (0, -0.07, 0)), ("jaw_master", (0, -0.07, 0)), ("ORG-jaw", (0, -0.07, 0))])
    assert by_kind(design.scene)["jaw", "bone"].said == "jaw_master"
    for bone in rig.pose.bones:
        bone.lock_rotation = (True, True, True)
    assert ("jaw", "bone") not in by_kind(design.scene)
    bpy.data.objects.remove(rig)
    armature(bones=[("jaw", (0.08, 0.03, 0.0))])
    assert ("jaw", "bone") not in by_kind(design.scene)


def test_a_head_turned_to_the_side_has_its_jaw_about_its_own_ears(design):
    rig = armature()
    rig.rotation_euler.z = math.radians(90.0)
    for name, place in (("tragion_left", (0.0, 0.09, 0.0)), ("tragion_right", (0.0, -0.09, 0.0))):
        next(item for item in design.scene.objects if item.name == name).location = place
    bpy.context.view_layer.update()
    assert by_kind(design.scene)["jaw", "bone"].brief.bone.axis == "X"


def test_keys_a_control_and_an_action_are_offered_side_by_side(design):
    design.head.shape_key_add(name="Basis")
    for name in ("eyeBlinkLeft", "eyeBlinkRight", "JawOpen", "JawOpen_Smile"):
        design.head.shape_key_add(name=name, from_mix=False)
    block = design.head.data.shape_keys.key_blocks["JawOpen"]
    for frame, value in ((1, 0.0), (12, 1.0), (24, 0.0)):
        block.value = value
        block.keyframe_insert("value", frame=frame)
    design.head.data.shape_keys.animation_data.action.name = "Jaw_Open"
    rig = armature(bones=[("spine", (0, 0, 0.1))])
    rig["mouth_open"] = 0.25
    rig.id_properties_ui("mouth_open").update(min=0.0, max=2.0, soft_min=0.0, soft_max=2.0, default=0.0)
    rig["jaw_open"] = 1  # a whole number cannot stand between two others
    found = by_kind(design.scene)
    assert {*found} == {("jaw", "key"), ("jaw", "property"), ("jaw", "action"), ("blink", "key")}
    assert found["blink", "key"].brief.keys == {"eyeBlinkLeft": (0.0, 1.0), "eyeBlinkRight": (0.0, 1.0)}
    assert found["jaw", "key"].brief.keys == {"JawOpen": (0.0, 1.0)}
    assert found["jaw", "property"].brief.property.values == (0.0, 2.0)
    assert found["jaw", "action"].brief.frames == (1.0, 12.0), "not closed again"
    assert [each.motion for each in offered(design.scene)] == ["jaw", "jaw", "jaw", "blink"]
    assert bpy.ops.dryfit.take_motion(motion="jaw", kind="action") == {"FINISHED"}
    assert {*by_kind(design.scene)} == {("blink", "key")}


def test_an_action_that_plays_nowhere_and_one_that_stands_still_are_not_offered(design):
    bpy.data.actions.new("JawOpen")
    assert not offered(design.scene)
    design.piece.keyframe_insert("location", frame=1)
    design.piece.keyframe_insert("location", frame=24)
    design.piece.animation_data.action.name = "jaw_open"
    assert not offered(design.scene)


def test_a_rig_in_a_collection_that_is_instanced_is_found_too(design):
    rig = armature()
    held = bpy.data.collections.new("Held")
    design.scene.collection.objects.unlink(rig)
    held.objects.link(rig)
    assert not offered(design.scene)
    shown = bpy.data.objects.new("Shown", None)
    shown.instance_type, shown.instance_collection = "COLLECTION", held
    design.scene.collection.objects.link(shown)
    assert {*by_kind(design.scene)} == {("jaw", "bone")}


def test_what_is_gone_or_stated_is_not_taken(design, tmp_path):
    with pytest.raises(RuntimeError, match="any more"):
        bpy.ops.dryfit.take_motion(motion="jaw", kind="bone")
    armature()
    (tmp_path / "brief.toml").write_text("[motions.jaw]\nhinge = { open_deg = 20.0 }\n")
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "design.blend"))
    assert not offered(bpy.context.scene)
    with pytest.raises(RuntimeError, match="states it"):
        bpy.ops.dryfit.take_motion(motion="jaw", kind="bone")


def test_the_panel_lists_them_each_with_a_button(design):
    assert not DRYFIT_PT_proposed_motions.poll(bpy.context)
    armature()
    assert DRYFIT_PT_proposed_motions.poll(bpy.context)
    panel = drawn(DRYFIT_PT_proposed_motions)
    assert "Jaw: bone jaw of Rig, 0° to " in panel.text and "not taken yet" in panel.text
    (button,) = panel.named("dryfit.take_motion")
    assert (button.motion, button.kind) == ("jaw", "bone")


def test_a_reading_tells_of_a_jaw_that_nobody_stated(design):
    skin(design.head, armature())
    (note,) = [note for note in read_snapshot(bpy.context).notes if "[motions.jaw]" in note]
    assert "No motion 'jaw' is stated, and the bone 'jaw' is named like one" in note
    bpy.ops.dryfit.take_motion(motion="jaw", kind="bone")
    assert not any("[motions.jaw]" in note for note in read_snapshot(bpy.context).notes)


def test_looking_costs_little_in_a_large_rig(design):
    armature(bones=[(f"bone_{number}", (0, -0.07, 0)) for number in range(600)])
    proposed_motions(design.scene.objects)
    started = time.process_time()
    proposed_motions(design.scene.objects)
    assert time.process_time() - started < 0.01
