"""Motions of a rig: bones, drivers on keys, an action give what the same motion gives as shape keys."""

import math

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
import dryfit  # noqa: E402
from dryfit.model.brief_reading import motions_from, parse_brief  # noqa: E402
from dryfit.model.errors import BadValue  # noqa: E402
from dryfit.model.motion_tables import motion_tables  # noqa: E402
from dryfit.scene.errors import ControlNotPosed  # noqa: E402
from dryfit.scene.motions import store_motions  # noqa: E402
from dryfit.scene.reading import read_file, read_snapshot  # noqa: E402

OPEN_DEG = 28.0
SAME_MM = 0.01
KEYS = "[motions.jaw]\nkeys = { JawOpen = [0.0, 1.0] }\n"
BONE = f'[motions.jaw]\nbone = {{ armature = "Rig", name = "jaw", rotation_deg = [0, {OPEN_DEG}], axis = "X" }}\n'
PROPERTY = '[motions.jaw]\nproperty = { object = "Rig", name = "jaw_open", values = [0, 1] }\n'
FRAMES = "[motions.jaw]\nframes = [1, 24]\n"
TIMES = np.linspace(0.0, 1.0, 31)


def below(co):
    return co[2] < -0.02


def read(brief):
    return read_snapshot(bpy.context, parse_brief(brief))


def turned(points, angle, pivot=(0.0, 0.03, 0.0)):
    """Points turned about the X axis through the jaw's pivot."""
    c, s = math.cos(angle), math.sin(angle)
    return (np.asarray(points) - pivot) @ np.array([[1, 0, 0], [0, c, s], [0, -s, c]]) + pivot


def add_rig(mode="XYZ"):
    """An armature of a skull and a jaw bone, whose own X axis is the world's."""
    data = bpy.data.armatures.new("Rig")
    rig = bpy.data.objects.new("Rig", data)
    bpy.context.scene.collection.objects.link(rig)
    bpy.context.view_layer.objects.active = rig
    bpy.ops.object.mode_set(mode="EDIT")
    for name, tail in (("skull", (0.0, 0.03, 0.1)), ("jaw", (0.0, -0.07, 0.0))):
        bone = data.edit_bones.new(name)
        bone.head, bone.tail = (0.0, 0.03, 0.0), tail
    bpy.ops.object.mode_set(mode="OBJECT")
    rig.pose.bones["jaw"].rotation_mode = mode
    return rig


def skin(item, rig):
    """Have the lower part follow the jaw bone alone, all else the skull."""
    for name in ("skull", "jaw"):
        which = [vertex.index for vertex in item.data.vertices if below(vertex.co) == (name == "jaw")]
        item.vertex_groups.new(name=name).add(which, 1.0, "REPLACE")
    item.modifiers.new("Armature", "ARMATURE").object = rig


def direction(rig):
    """Which way a positive turn of the jaw bone goes about the world's X axis."""
    return 1.0 if rig.data.bones["jaw"].x_axis.x > 0 else -1.0


def keyed_jaw(build, way, steps=64):
    """The head with the same turn as shape keys: one to pose, and in-betweens that follow it."""
    head = build.sphere(rings=16)
    points = np.array([vertex.co[:] for vertex in head.data.vertices])
    low = np.array([below(point) for point in points])
    build.key(head, "JawOpen")
    for step in range(1, steps + 1):
        block = build.key(head, f"at {step}")
        posed = np.where(low[:, None], turned(points, way * math.radians(OPEN_DEG) * step / steps), points)
        block.data.foreach_set("co", posed.astype(np.float32).ravel())
        hat = f"max(0, 1 - abs(var * {steps} - {step}))"
        build.drive(block, hat, head.data.shape_keys, 'key_blocks["JawOpen"].value')
    return head


def same_paths(one, other, part="Head"):
    return max(
        np.linalg.norm(one.vertices_at(part, t) - other.vertices_at(part, t), axis=1).max() for t in TIMES
    )  # fmt: skip


def fresh():
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)


def rigged(build, mode="XYZ"):
    head, rig = build.sphere(rings=16), add_rig(mode)
    skin(head, rig)
    return head, rig


@pytest.fixture
def as_keys(build):
    """The jaw's motion of the same turn as shape keys."""
    way = direction(add_rig())
    fresh()
    keyed_jaw(build, way)
    motion = read(KEYS).motions["jaw"]
    fresh()
    return motion


@pytest.mark.parametrize("mode", ["XYZ", "ZYX", "QUATERNION", "AXIS_ANGLE"])
def test_a_bone_gives_what_shape_keys_give(build, as_keys, mode):
    rigged(build, mode)
    motion = read(BONE).motions["jaw"]
    assert same_paths(motion, as_keys) < 2 * SAME_MM
    step = np.linalg.norm(motion.frames_mm["Head"][-1] - as_keys.frames_mm["Head"][-1], axis=1).max()
    assert step < SAME_MM and len(motion.frames_t) > 9


def test_halving_the_step_of_a_bone_changes_nothing(build):
    head, _ = rigged(build)
    motion = read(BONE).motions["jaw"]
    points = 1000.0 * np.array([vertex.co[:] for vertex in head.data.vertices])
    low = points[:, 2] < -20.0
    way = direction(bpy.data.objects["Rig"])
    middles = (motion.frames_t[1:] + motion.frames_t[:-1]) / 2.0
    for t in middles:
        exact = turned(points[low], way * math.radians(OPEN_DEG) * t, (0.0, 30.0, 0.0))
        assert np.abs(motion.vertices_at("Head", t)[low] - exact).max() < SAME_MM


def test_drivers_on_keys_give_what_the_keys_give(build):
    head = build.sphere()
    build.key(head, "JawOpen", (0.0, -0.01, -0.03), where=lambda co: co.z < -0.02)
    before = read(KEYS).motions["jaw"]
    rig = add_rig()
    rig["jaw_open"] = 0.3
    build.drive(head.data.shape_keys.key_blocks["JawOpen"], "var", rig, '["jaw_open"]')
    snapshot = read(PROPERTY)
    assert same_paths(snapshot.motions["jaw"], before) < SAME_MM
    np.testing.assert_allclose(snapshot.base.vertices_mm, before.frames_mm["Head"][0], atol=1e-4)
    assert rig["jaw_open"] == 0.3


def test_a_bone_that_drives_a_key_gives_what_the_key_gives(build):
    head = build.sphere()
    build.key(head, "JawOpen", (0.0, -0.01, -0.03), where=lambda co: co.z < -0.02)
    before = read(KEYS).motions["jaw"]
    rig = add_rig()
    path = 'pose.bones["jaw"].rotation_euler[0]'
    build.drive(head.data.shape_keys.key_blocks["JawOpen"], f"var / {math.radians(OPEN_DEG)}", rig, path)
    motion = read(BONE).motions["jaw"]
    assert same_paths(motion, before) < SAME_MM


def test_an_action_gives_what_the_keys_give(scene, build):
    head = build.sphere()
    block = build.key(head, "JawOpen", (0.0, -0.01, -0.03), where=lambda co: co.z < -0.02)
    before = read(KEYS).motions["jaw"]
    for frame, value in ((1, 0.0), (24, 1.0)):
        block.value = value
        block.keyframe_insert("value", frame=frame)
    for curve in curves(head.data.shape_keys):
        for point in curve.keyframe_points:
            point.interpolation = "LINEAR"
    scene.frame_set(10)
    snapshot = read(FRAMES)
    assert same_paths(snapshot.motions["jaw"], before) < SAME_MM
    np.testing.assert_allclose(snapshot.base.vertices_mm, before.frames_mm["Head"][0], atol=1e-4)
    assert scene.frame_current == 10


def curves(owner):
    data = owner.animation_data
    if hasattr(data, "action_slot"):
        bags = [strip.channelbag(data.action_slot) for layer in data.action.layers for strip in layer.strips]
        return [curve for bag in bags for curve in bag.fcurves]
    return list(data.action.fcurves)


def test_an_animated_bone_is_followed_by_frames_and_given_way_to_by_a_turn(build, as_keys):
    (_, rig), scene = rigged(build), bpy.context.scene
    bone = rig.pose.bones["jaw"]
    for frame, angle in ((1, 0.0), (24, math.radians(OPEN_DEG))):
        bone.rotation_euler[0] = angle
        bone.keyframe_insert("rotation_euler", frame=frame)
    for curve in curves(rig):
        for point in curve.keyframe_points:
            point.interpolation = "LINEAR"
    assert same_paths(read(FRAMES).motions["jaw"], as_keys) < 2 * SAME_MM
    scene.frame_set(24)
    bone.rotation_euler[0] = 0.1234  # set, not keyed
    turned = read_snapshot(bpy.context, parse_brief(BONE))
    assert same_paths(turned.motions["jaw"], as_keys) < 2 * SAME_MM
    assert any("The bone 'jaw' of 'Rig' is animated or driven" in note for note in turned.notes)
    assert bone.rotation_euler[0] == pytest.approx(0.1234)


@pytest.mark.parametrize("brief", [BONE, PROPERTY, FRAMES], ids=["bone", "property", "frames"])
def test_the_scene_is_left_as_it_was(scene, build, state, brief):
    head, rig = rigged(build)
    rig["jaw_open"] = 0.4
    build.key(head, "Smile", (0.0, 0.0, 0.01))
    build.drive(head.data.shape_keys.key_blocks["Smile"], "var", rig, '["jaw_open"]')
    bone = rig.pose.bones["jaw"]
    bone.rotation_euler = (0.2, 0.1, 0.05)
    bone.keyframe_insert("rotation_euler", frame=1)
    bone.rotation_euler[0] = 0.5
    bone.keyframe_insert("rotation_euler", frame=24)
    scene.frame_set(7)
    bone.rotation_euler[1] = 0.3  # set, not keyed
    before = [*state(), *rig_state(rig)]
    read(brief)
    assert [*state(), *rig_state(rig)] == before


def rig_state(rig):
    bone = rig.pose.bones["jaw"]
    return [
        tuple(bone.rotation_euler), bone.rotation_mode, rig["jaw_open"], rig.data.pose_position,
        [(curve.data_path, curve.mute) for curve in curves(rig)],
    ]  # fmt: skip


def test_a_rig_at_rest_position_is_posed_and_goes_back(build, as_keys):
    _, rig = rigged(build)
    rig.data.pose_position = "REST"
    assert same_paths(read(BONE).motions["jaw"], as_keys) < 2 * SAME_MM
    assert rig.data.pose_position == "REST"


@pytest.mark.parametrize(
    ("brief", "words"),
    [
        (BONE.replace('"Rig"', '"Rigg"'), "names the armature 'Rigg', which is not in the scene. Did you mean 'Rig'?"),
        (BONE.replace('"jaw"', '"jaww"'), "names the bone 'jaww', which is not in 'Rig'. Did you mean 'jaw'?"),
        (PROPERTY.replace("jaw_open", "jaw_opn"), "names the property 'jaw_opn', which is not in 'Rig'. Did you mean"),
        (PROPERTY.replace('"Rig"', '"Rog"'), "names the object 'Rog', which is not in the scene. Did you mean 'Rig'?"),
    ],
)
def test_what_is_not_there_is_named_with_what_is(build, brief, words):
    _, rig = rigged(build)
    rig["jaw_open"] = 0.0
    said = read(brief).lost_motions["jaw"]
    assert words in said and "There: " in said


def test_a_whole_number_a_held_bone_and_a_rig_that_moves_nothing_are_errors(build):
    _, rig = rigged(build)
    rig["jaw_open"] = 0
    assert "no decimal number" in read(PROPERTY).lost_motions["jaw"]
    rig["jaw_open"] = 0.0
    assert "moves no object that has a role" in read(PROPERTY).lost_motions["jaw"]
    assert "jaw" in read(FRAMES).lost_motions
    rig.pose.bones["jaw"].keyframe_insert("rotation_euler", frame=1)
    data = rig.animation_data
    strip = data.nla_tracks.new().strips.new("held", 1, data.action)
    if hasattr(strip, "action_slot") and strip.action_slot is None:
        strip.action_slot = data.action_slot
    data.action = None
    with pytest.raises(ControlNotPosed, match="was set to"):
        read(BONE + FRAMES.replace("jaw", "blink"))


def test_a_property_of_a_control_bone_counts_too(build):
    head = build.sphere()
    build.key(head, "JawOpen", (0.0, -0.01, -0.03))
    rig = add_rig()
    rig.pose.bones["skull"]["jaw_open"] = 0.2
    build.drive(head.data.shape_keys.key_blocks["JawOpen"], "var", rig, 'pose.bones["skull"]["jaw_open"]')
    motion = read(PROPERTY).motions["jaw"]
    np.testing.assert_allclose(motion.frames_mm["Head"][1] - motion.frames_mm["Head"][0], [[0, -10, -30]] * len(
        motion.frames_mm["Head"][0]), atol=1e-3)  # fmt: skip
    assert rig.pose.bones["skull"]["jaw_open"] == 0.2


def test_teeth_on_a_bone_and_a_file_on_disk_and_a_saved_snapshot(build, tmp_path):
    _, rig = rigged(build)
    teeth = build.box("Teeth", "lower_teeth")
    teeth.parent, teeth.parent_type, teeth.parent_bone = rig, "BONE", "jaw"
    here = read(BONE)
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "design.blend"))
    there = read_file(tmp_path / "design.blend", parse_brief(BONE))
    kept = dryfit.load_snapshot(dryfit.save_snapshot(there, tmp_path / "design.npz"))
    for motion in (there.motions["jaw"], kept.motions["jaw"]):
        assert {*motion.frames_mm} == {"Head", "Teeth"}
        assert same_paths(motion, here.motions["jaw"], "Teeth") < 1e-3


def test_the_rig_may_be_with_the_base_alone(build, tmp_path):
    rigged(build)
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "performer.blend"))
    fresh()
    build.box()
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "piece.blend"))
    base = '[base]\nfile = "performer.blend"\n'
    brief = tmp_path / "brief.toml"
    snapshot = read_file(tmp_path / "piece.blend", parse_brief(base + BONE, str(brief)))
    assert {*snapshot.motions["jaw"].frames_mm} == {"Head"}
    assert not snapshot.lost_motions
    lost = read_file(tmp_path / "piece.blend", parse_brief(base + BONE.replace('"jaw"', '"jaww"'), str(brief)))
    assert "'jaww', which is not in 'Rig'" in lost.lost_motions["jaw"]


def test_a_rigs_motion_may_be_stored_with_the_scene(scene, build):
    rigged(build)
    store_motions(scene, parse_brief(BONE).motions)
    assert "jaw" in read("").motions


@pytest.mark.parametrize("brief", [BONE, PROPERTY, FRAMES])
def test_tables_say_the_same_motion_again(brief):
    motions = parse_brief(brief).motions
    assert motions_from(motion_tables(motions), "again") == motions


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('bone = { armature = "Rig", name = "jaw" }', "rotation_deg"),
        ('bone = { armature = "Rig", name = "jaw", rotation_deg = [0, 0] }', "two different numbers"),
        ('bone = { armature = "Rig", name = "jaw", rotation_deg = [0, 400] }', "from -180 to 180"),
        ('bone = { armature = "Rig", name = "jaw", rotation_deg = [0, 4], axis = "W" }', "'X', 'Y' or 'Z'"),
        ('bone = { name = "jaw", rotation_deg = [0, 4] }', "armature"),
        ("frames = [3, 3]", "two different numbers"),
        ("frames = [1, 2]\nkeys = { A = [0, 1] }", "in its place"),
    ],
)
def test_a_table_that_means_nothing_is_an_error(text, words):
    with pytest.raises(BadValue, match=words):
        parse_brief(f"[motions.jaw]\n{text}\n")


def patch_on(name, role="appliance"):
    """A piece over the edge between what moves and what stays, 2 mm off the head."""
    angle, turn = np.meshgrid(np.linspace(1.5, 2.1, 13), np.linspace(-2.0, -1.14, 13), indexing="ij")
    ways = np.stack([np.sin(angle) * np.cos(turn), np.sin(angle) * np.sin(turn), np.cos(angle)], axis=-1).reshape(-1, 3)
    faces = [(r * 13 + c, (r + 1) * 13 + c, (r + 1) * 13 + c + 1, r * 13 + c + 1) for r in range(12) for c in range(12)]
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata((0.102 * ways).tolist(), [], faces)
    item = bpy.data.objects.new(name, mesh)
    bpy.context.scene.collection.objects.link(item)
    item["dryfit_role"] = role
    return item


def figures(brief):
    """What checks that look at motions measure, lengths and areas alike."""
    report = dryfit.check(read(brief), parse_brief(brief), only=["strain", "interference"])
    found = {f"{check.id}.{name}": value for check in report.checks for name, value in check.measures.items()}
    return {name: float(value) for name, value in found.items() if isinstance(value, int | float)}


def test_the_figures_of_a_bone_are_those_of_the_keys(build):
    way = direction(add_rig())
    fresh()
    keyed_jaw(build, way)
    patch_on("Chin")
    by_keys = figures(KEYS)
    fresh()
    rigged(build)
    patch_on("Chin")
    by_bone = figures(BONE)
    assert {"strain.max_stretch", "strain.rim_in_motion_mm"} <= {*by_keys} and by_keys["strain.max_stretch"] > 1.01
    for name, value in by_keys.items():
        assert by_bone[name] == pytest.approx(value, abs=SAME_MM, nan_ok=True), name


def limit(rig, degrees):
    held = rig.pose.bones["jaw"].constraints.new("LIMIT_ROTATION")
    held.use_limit_x, held.owner_space = True, "LOCAL"
    held.min_x, held.max_x = -math.radians(degrees), math.radians(degrees)
    return held


@pytest.mark.parametrize("mode", ["XYZ", "QUATERNION"])
def test_a_bone_that_its_constraints_hold_back_is_no_motion(build, mode):
    _, rig = rigged(build, mode)
    held = limit(rig, 6.0)
    snapshot = read(BONE)
    assert "jaw" not in snapshot.motions
    said = snapshot.lost_motions["jaw"]
    assert "by 28.0 degrees, and it turned by 6.0: it is held by its constraints (Limit Rotation)" in said
    held.mute = True
    assert "jaw" in read(BONE).motions
    held.mute, held.max_x, held.min_x = False, math.radians(28.0), -math.radians(28.0)
    assert "jaw" in read(BONE).motions


def test_a_bone_that_follows_another_is_no_motion(build):
    _, rig = rigged(build)
    rig.pose.bones["jaw"].constraints.new("COPY_ROTATION").target = build.empty("Aim")
    assert "it turned by 0.0: it is held by its constraints (Copy Rotation)" in read(BONE).lost_motions["jaw"]


def test_a_turn_of_more_than_half_a_circle_and_other_angles_hold_nothing_back(build):
    _, rig = rigged(build)
    rig.pose.bones["jaw"].rotation_euler = (0.0, 0.2, 0.3)
    wide = BONE.replace("[0, 28.0]", "[-120, 120]")
    assert "jaw" in read(wide).motions and "jaw" in read(BONE).motions
    rig.scale = (0.01, 0.01, 0.01)
    rig.pose.bones["skull"].rotation_euler = (0.4, 0.1, 0.0)
    assert "jaw" in read(BONE).motions
