"""Motions: shape keys posed by value, as many key frames as the path needs."""

import math
from pathlib import Path

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
import dryfit  # noqa: E402
from dryfit.checks.runner import LostMotion  # noqa: E402
from dryfit.model.brief_reading import parse_brief  # noqa: E402
from dryfit.scene.errors import AbsoluteKeys, BadStoredValue, KeyNotPosed, TopologyChanges  # noqa: E402
from dryfit.scene.reading import read_snapshot  # noqa: E402

JAW = "[motions.jaw]\nkeys = { JawOpen = [0.0, 1.0] }"


def below(co):
    return co.z < -0.05


def read(brief=JAW):
    return read_snapshot(bpy.context, parse_brief(brief))


def moved_mm(motion, part, t):
    return np.linalg.norm(motion.vertices_at(part, t) - motion.vertices_at(part, 0.0), axis=1).max()


def test_a_linear_key_needs_two_frames_and_other_parts_ride(build):
    build.key(build.sphere(), "JawOpen", (0.0, -0.01, -0.03), where=below, value=0.4)
    build.box()
    snapshot = read()
    jaw = snapshot.motions["jaw"]
    assert jaw.frames_t.tolist() == [0.0, 1.0]
    assert list(jaw.frames_mm) == ["Head"]
    assert moved_mm(jaw, "Head", 1.0) == pytest.approx(math.hypot(10.0, 30.0), abs=1e-3)
    assert moved_mm(jaw, "Head", 0.5) == pytest.approx(math.hypot(5.0, 15.0), abs=1e-3)
    np.testing.assert_array_equal(jaw.frames_mm["Head"][0], snapshot.base.vertices_mm)


def test_rest_is_every_motion_key_at_its_start_and_others_as_they_are(build):
    head = build.sphere()
    build.key(head, "JawOpen", (0.0, 0.0, -0.03), value=0.7)
    build.key(head, "Blink", (0.0, 0.004, 0.0), value=0.2)
    build.key(head, "Sculpt", (0.001, 0.0, 0.0), value=0.5)
    snapshot = read("[motions.jaw]\nkeys = { JawOpen = [0.1, 0.9] }\n[motions.blink]\nkeys = { Blink = [1.0, 0.0] }")
    centre = snapshot.base.vertices_mm.mean(axis=0)
    np.testing.assert_allclose(centre, [0.5, 4.0, -3.0], atol=1e-3)
    np.testing.assert_allclose(snapshot.motions["jaw"].frames_mm["Head"][1].mean(axis=0), [0.5, 4.0, -27.0], atol=1e-3)
    np.testing.assert_allclose(snapshot.motions["blink"].frames_mm["Head"][1].mean(axis=0), [0.5, 0, -3.0], atol=1e-3)


def test_a_new_key_stands_where_this_blender_puts_it_and_counts_as_set_by_the_user(build):
    head = build.sphere()
    build.key(head, "JawOpen", (0.0, 0.0, -0.03))
    fresh = head.shape_key_add(name="Fresh", from_mix=False)
    for point in fresh.data:
        point.co.x += 0.01
    assert fresh.value == (1.0 if bpy.app.version >= (5, 0, 0) else 0.0)
    np.testing.assert_allclose(read().base.vertices_mm.mean(axis=0), [10.0 * fresh.value, 0, 0], atol=1e-3)


def test_keys_relative_to_another_key_and_masked_by_a_group(build):
    head = build.sphere()
    build.key(head, "Shift", (0.02, 0.0, 0.0))
    block = build.key(head, "JawOpen", (0.02, 0.0, -0.03))
    block.relative_key = head.data.shape_keys.key_blocks["Shift"]
    group = head.vertex_groups.new(name="Lower")
    low = [vertex.index for vertex in head.data.vertices if below(vertex.co)]
    group.add(low, 0.5, "REPLACE")
    block.vertex_group = "Lower"
    jaw = read().motions["jaw"]
    step = jaw.frames_mm["Head"][1] - jaw.frames_mm["Head"][0]
    np.testing.assert_allclose(step[low], np.tile([0.0, 0.0, -15.0], (len(low), 1)), atol=1e-3)
    assert np.abs(np.delete(step, low, axis=0)).max() < 1e-6


def test_a_key_driven_by_a_posed_key_follows_it(build):
    head, teeth = build.sphere(), build.box("Teeth", "lower_teeth")
    source = build.key(head, "JawOpen", (0.0, 0.0, -0.03))
    follower = build.key(teeth, "JawOpen", (0.0, 0.0, -0.03))
    build.drive(follower, "var * 0.5", source.id_data, 'key_blocks["JawOpen"].value')
    jaw = read().motions["jaw"]
    assert moved_mm(jaw, "Teeth", 1.0) == pytest.approx(15.0, abs=1e-3)
    assert moved_mm(jaw, "Head", 1.0) == pytest.approx(30.0, abs=1e-3)


def test_keys_of_one_name_are_set_on_every_object(build):
    build.key(build.sphere(), "JawOpen", (0.0, 0.0, -0.03))
    build.key(build.box("Teeth", "lower_teeth"), "JawOpen", (0.0, 0.0, -0.02), value=0.9)
    jaw = read().motions["jaw"]
    assert moved_mm(jaw, "Teeth", 1.0) == pytest.approx(20.0, abs=1e-3)


def test_a_key_driven_from_elsewhere_is_set_directly_and_said(build):
    head = build.sphere()
    head["opening"] = 0.25
    block = build.key(head, "JawOpen", (0.0, 0.0, -0.03))
    build.drive(block, "var", head, '["opening"]')
    snapshot = read()
    assert moved_mm(snapshot.motions["jaw"], "Head", 1.0) == pytest.approx(30.0, abs=1e-3)
    np.testing.assert_allclose(snapshot.base.vertices_mm.mean(axis=0), 0.0, atol=1e-3)
    assert any("'JawOpen' of 'Head' has a driver" in note for note in snapshot.notes)


def test_muted_pinned_and_narrow_keys_are_posed_all_the_same(build):
    head = build.sphere()
    block = build.key(head, "JawOpen", (0.0, 0.0, -0.03))
    build.key(head, "Other", (0.05, 0.0, 0.0))
    block.mute, block.slider_max = True, 0.25
    head.show_only_shape_key, head.active_shape_key_index = True, 2
    snapshot = read("[motions.jaw]\nkeys = { JawOpen = [-0.5, 1.5] }")
    assert moved_mm(snapshot.motions["jaw"], "Head", 1.0) == pytest.approx(60.0, abs=1e-3)
    assert any("pinned" in note for note in snapshot.notes)


def test_animation_of_the_key_gives_way(scene, build):
    block = build.key(build.sphere(), "JawOpen", (0.0, 0.0, -0.03))
    for frame, value in ((1, 0.2), (20, 0.8)):
        block.value = value
        block.keyframe_insert("value", frame=frame)
    scene.frame_set(10)
    snapshot = read()
    np.testing.assert_allclose(snapshot.base.vertices_mm.mean(axis=0), 0.0, atol=1e-3)
    assert moved_mm(snapshot.motions["jaw"], "Head", 1.0) == pytest.approx(30.0, abs=1e-3)


def test_a_strip_that_holds_the_key_is_an_error(scene, build):
    block = build.key(build.sphere(), "JawOpen", (0.0, 0.0, -0.03))
    block.value = 0.3
    block.keyframe_insert("value", frame=1)
    data = block.id_data.animation_data
    action, slot = data.action, getattr(data, "action_slot", None)
    strip = data.nla_tracks.new().strips.new("Hold", 1, action)
    if slot is not None:
        strip.action_slot = slot
    data.action = None
    with pytest.raises(KeyNotPosed, match=r"'JawOpen' = 0 on 'Head', but it stays at 0.3"):
        read()


def test_a_bone_driven_by_a_key_turns_teeth_in_an_arc_followed_by_key_frames(build):
    head, teeth = build.sphere(), build.box("Teeth", "lower_teeth")
    block = build.key(head, "JawOpen", (0.0, 0.0, -0.03), where=below)
    pivot = build.empty("Hinge")
    teeth.parent, teeth.location = pivot, (0.0, -0.1, 0.0)
    curve = pivot.driver_add("rotation_euler", 0)
    curve.driver.expression = "var * 0.5"
    variable = curve.driver.variables.new()
    variable.name, variable.targets[0].id_type = "var", "KEY"
    variable.targets[0].id, variable.targets[0].data_path = block.id_data, 'key_blocks["JawOpen"].value'
    jaw = read().motions["jaw"]
    assert jaw.frames_t.tolist() == pytest.approx(np.linspace(0.0, 1.0, 33).tolist())
    start = jaw.frames_mm["Teeth"][0]
    for t in np.linspace(0.0, 1.0, 29):
        cos, sin = math.cos(0.5 * t), math.sin(0.5 * t)
        turned = start @ np.array([[1, 0, 0], [0, cos, -sin], [0, sin, cos]]).T
        assert np.linalg.norm(jaw.vertices_at("Teeth", t) - turned, axis=1).max() < 0.02


def test_an_armature_bends_the_skin(build):
    head = build.sphere()
    block = build.key(head, "JawOpen", (0.0, 0.0, 0.0))
    rig = build.link(bpy.data.objects.new("Rig", bpy.data.armatures.new("Rig")))
    bpy.context.view_layer.objects.active = rig
    bpy.ops.object.mode_set(mode="EDIT")
    bone = rig.data.edit_bones.new("Jaw")
    bone.head, bone.tail = (0.0, 0.0, 0.0), (0.0, -0.1, 0.0)
    bpy.ops.object.mode_set(mode="OBJECT")
    head.vertex_groups.new(name="Jaw").add([v.index for v in head.data.vertices if below(v.co)], 1.0, "REPLACE")
    head.modifiers.new("Rig", "ARMATURE").object = rig
    rig.pose.bones["Jaw"].rotation_mode = "XYZ"
    curve = rig.pose.bones["Jaw"].driver_add("location", 1)
    curve.driver.expression = "var * 0.02"
    variable = curve.driver.variables.new()
    variable.name, variable.targets[0].id_type = "var", "KEY"
    variable.targets[0].id, variable.targets[0].data_path = block.id_data, 'key_blocks["JawOpen"].value'
    jaw = read().motions["jaw"]
    assert len(jaw.frames_t) == 2
    assert moved_mm(jaw, "Head", 1.0) == pytest.approx(20.0, abs=1e-3)


def test_a_step_in_the_path_is_said(build):
    block = build.key(build.sphere(), "JawOpen", (0.0, 0.0, -0.03))
    piece = build.box("Latch", "hardware")
    latch = build.key(piece, "Latch", (0.0, 0.0, 0.02))
    build.drive(latch, "1.0 if var > 0.4 else 0.0", block.id_data, 'key_blocks["JawOpen"].value')
    snapshot = read()
    assert len(snapshot.motions["jaw"].frames_t) == 65
    assert any("bends sharply" in note for note in snapshot.notes)


def test_objects_that_share_a_mesh_move_together(build):
    head = build.sphere("Tooth", "upper_teeth")
    build.key(head, "JawOpen", (0.0, 0.0, -0.03))
    twin = build.link(bpy.data.objects.new("Twin", head.data))
    twin["dryfit_role"], twin.location = "lower_teeth", (0.0, -0.1, 0.0)
    assert sorted(read().motions["jaw"].frames_mm) == ["Tooth", "Twin"]


def test_a_missing_key_names_those_that_exist(build):
    build.key(build.sphere(), "Jaw Open", (0.0, 0.0, -0.03))
    snapshot = read()
    assert "[motions.jaw] names the shape key 'JawOpen'" in snapshot.lost_motions["jaw"]
    assert "Keys found: Jaw Open" in snapshot.lost_motions["jaw"] and not snapshot.motions


def test_a_missing_key_stops_only_what_looks_at_motions(build):
    build.key(build.sphere(), "Jaw Open", (0.0, 0.0, -0.03))
    build.box().location = (0.0, -0.12, 0.0)
    snapshot = dryfit.load_snapshot(dryfit.save_snapshot(read(), Path(bpy.app.tempdir) / "lost.npz"))
    report = dryfit.check(snapshot, only=["additive"])
    assert str(report.checks[0].status) == "pass"
    assert any("names the shape key 'JawOpen'" in note for note in report.inputs["notes"])
    with pytest.raises(LostMotion, match=r"'JawOpen', which no object has.*--only"):
        dryfit.check(snapshot, only=["additive", "strain"])


def test_a_basis_is_no_key_to_pose(build):
    build.key(build.sphere(), "JawOpen", (0.0, 0.0, -0.03))
    assert "'Basis'" in read("[motions.jaw]\nkeys = { Basis = [0.0, 1.0] }").lost_motions["jaw"]


def test_absolute_keys_are_an_error(build):
    head = build.sphere()
    build.key(head, "JawOpen", (0.0, 0.0, -0.03))
    head.data.shape_keys.use_relative = False
    with pytest.raises(AbsoluteKeys, match="'JawOpen' of 'Head'"):
        read()


def test_values_that_blender_cannot_set_are_an_error(build):
    build.key(build.sphere(), "JawOpen", (0.0, 0.0, -0.001))
    with pytest.raises(KeyNotPosed, match="stays at 10"):
        read("[motions.jaw]\nkeys = { JawOpen = [0.0, 12.0] }")


def test_a_topology_that_changes_with_the_pose_is_an_error(build):
    head = build.sphere()
    block = build.key(head, "JawOpen", (0.0, 0.0, -0.03), where=below)
    split = head.modifiers.new("Count", "ARRAY")
    curve = split.driver_add("count")
    curve.driver.expression = "1 + round(var)"
    variable = curve.driver.variables.new()
    variable.name, variable.targets[0].id_type = "var", "KEY"
    variable.targets[0].id, variable.targets[0].data_path = block.id_data, 'key_blocks["JawOpen"].value'
    with pytest.raises(
        TopologyChanges, match=r"'Head' changes its topology in the motion 'jaw': 1106 vertices at rest"
    ):
        read()


def test_motions_may_be_stored_with_the_scene_and_the_brief_overrides_them(scene, build):
    build.key(build.sphere(), "JawOpen", (0.0, 0.0, -0.03))
    scene["dryfit_motions"] = '{"jaw": {"keys": {"JawOpen": [0.0, 0.5]}}}'
    assert moved_mm(read("").motions["jaw"], "Head", 1.0) == pytest.approx(15.0, abs=1e-3)
    assert moved_mm(read().motions["jaw"], "Head", 1.0) == pytest.approx(30.0, abs=1e-3)


@pytest.mark.parametrize(
    "text", ['{"jaw"', '{"jaw": 3}', '{"jaw": {"kyes": {}}}', '{"jaw": {"keys": {"J": [0]}}}', "[1]"]
)
def test_damaged_motions_are_an_error_that_names_the_property(scene, build, text):
    build.sphere()
    scene["dryfit_motions"] = text
    with pytest.raises(BadStoredValue, match="dryfit_motions"):
        read("")


def test_without_a_stated_motion_there_is_none(build):
    build.key(build.sphere(), "JawOpen", (0.0, 0.0, -0.03))
    assert not read("").motions
