"""What reshapes or moves a part by a way that is not its own mesh or place: each is a change, and each is named.

Each case is one that said *Pass* of a design that had become another one.
"""

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.sitting.freshness import look  # noqa: E402


def shown(item):
    """The part as it is shown, world space."""
    depsgraph = bpy.context.evaluated_depsgraph_get()
    evaluated = item.evaluated_get(depsgraph)
    matrix = np.array(evaluated.matrix_world)
    mesh = evaluated.to_mesh()
    points = np.array([vertex.co for vertex in mesh.vertices])
    evaluated.to_mesh_clear()
    return points @ matrix[:3, :3].T + matrix[:3, 3]


def add_to_scene(name, data):
    item = bpy.data.objects.new(name, data)
    bpy.context.scene.collection.objects.link(item)
    return item


def add_bones():
    rig = add_to_scene("Rig", bpy.data.armatures.new("Bones"))
    bpy.context.view_layer.objects.active = rig
    bpy.ops.object.mode_set(mode="EDIT")
    bone = rig.data.edit_bones.new("Cheek")
    bone.head, bone.tail = (0.0, -0.1, 0.0), (0.0, -0.1, 0.05)
    bpy.ops.object.mode_set(mode="OBJECT")
    return rig


def bend(rig):
    rig.pose.bones["Cheek"].location = (0.0, 0.0, 0.004)


def bone_deform(piece):
    rig = add_bones()
    piece.vertex_groups.new(name="Cheek").add(range(len(piece.data.vertices)), 1.0, "REPLACE")
    piece.modifiers.new("Rig", "ARMATURE").object = rig
    return lambda: bend(rig)


def bone_parent(piece):
    rig = add_bones()
    piece.parent, piece.parent_type, piece.parent_bone = rig, "BONE", "Cheek"
    return lambda: bend(rig)


def bone_constraint(piece):
    rig = add_bones()
    follow = piece.constraints.new("CHILD_OF")
    follow.target, follow.subtarget = rig, "Cheek"
    return lambda: bend(rig)


def constraint_target(piece):
    target = add_to_scene("Target", None)
    piece.constraints.new("COPY_LOCATION").target = target
    return lambda: setattr(target, "location", (0.0, 0.003, 0.0))


def edited_curve(piece):
    piece.keyframe_insert("location", frame=1)
    (curve,) = [each for each in _curves(piece) if each.array_index == 1]

    def change():
        curve.keyframe_points[0].co[1] += 0.004
        curve.update()
        bpy.context.scene.frame_set(bpy.context.scene.frame_current)

    return change


def _curves(piece):
    from dryfit.scene.posing import action_curves

    return action_curves(piece.animation_data)


def edited_driver(piece):
    curve = piece.driver_add("location", 1)
    curve.driver.expression = "0.0"

    def change():
        curve.driver.expression = "0.004"

    return change


def texture(piece):
    made = bpy.data.textures.new("Pores", "CLOUDS")
    bump = piece.modifiers.new("Pores", "DISPLACE")
    bump.texture, bump.strength = made, 0.004
    return lambda: setattr(made, "noise_scale", 0.02)


def crease(piece):
    piece.modifiers.new("Finer", "SUBSURF").levels = 1
    made = piece.data.attributes.new("crease_edge", "FLOAT", "EDGE")
    values = np.zeros(len(piece.data.edges), np.float32)
    made.data.foreach_set("value", values)

    def change():
        piece.data.attributes["crease_edge"].data.foreach_set("value", values + 1.0)
        piece.data.update()

    return change


def node_object(piece):
    """The nodes look at an object that the modifier itself does not name."""
    other = add_to_scene("Pusher", None)
    tree = bpy.data.node_groups.new("Push", "GeometryNodeTree")
    for kind in ("INPUT", "OUTPUT"):
        tree.interface.new_socket("Geometry", in_out=kind, socket_type="NodeSocketGeometry")
    into, out, push, seen = (
        tree.nodes.new(kind)
        for kind in ("NodeGroupInput", "NodeGroupOutput", "GeometryNodeSetPosition", "GeometryNodeObjectInfo")
    )
    seen.inputs["Object"].default_value = other
    tree.links.new(into.outputs[0], push.inputs["Geometry"])
    tree.links.new(seen.outputs["Location"], push.inputs["Offset"])
    tree.links.new(push.outputs[0], out.inputs[0])
    piece.modifiers.new("Push", "NODES").node_group = tree
    return lambda: setattr(other, "location", (0.0, 0.003, 0.0))


def boolean_collection(piece):
    cutters = bpy.data.collections.new("Cutters")
    bpy.context.scene.collection.children.link(cutters)
    mesh = bpy.data.meshes.new("Cutter")
    corners = [(x, y, z) for x in (-0.01, 0.01) for y in (-0.11, -0.09) for z in (-0.01, 0.01)]
    faces = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    mesh.from_pydata(corners, [], faces)
    cutter = bpy.data.objects.new("Cutter", mesh)
    cutters.objects.link(cutter)
    cutter["dryfit_role"] = "ignore"
    cut = piece.modifiers.new("Cut", "BOOLEAN")
    cut.operand_type, cut.collection, cut.solver = "COLLECTION", cutters, "EXACT"
    return lambda: setattr(cutter, "location", (0.01, 0.0, 0.0))


def bent_curve(piece):
    """A curve that the piece is bent along, edited."""
    data = bpy.data.curves.new("Way", "CURVE")
    data.dimensions = "3D"
    line = data.splines.new("POLY")
    line.points.add(1)
    line.points[0].co, line.points[1].co = (-0.1, 0.0, 0.0, 1.0), (0.1, 0.0, 0.0, 1.0)
    piece.modifiers.new("Way", "CURVE").object = add_to_scene("Way", data)

    def change():
        line.points[1].co = (0.1, 0.02, 0.0, 1.0)
        data.update_tag()

    return change


def driven(owner, path, place, source):
    """Let an object's own place along Y set a property."""
    curve = owner.driver_add(path, place) if place >= 0 else owner.driver_add(path)
    read = curve.driver.variables.new()
    read.type, read.targets[0].id, read.targets[0].transform_type = "TRANSFORMS", source, "LOC_Y"
    curve.driver.expression = read.name


def controller_moved(piece):
    """What a driver reads is moved by hand."""
    hand = add_to_scene("Hand", None)
    driven(piece, "location", 1, hand)
    return lambda: setattr(hand, "location", (0.0, 0.004, 0.0))


def controller_of_a_key(piece):
    hand = add_to_scene("Hand", None)
    driven(swollen_key(piece), "value", -1, hand)
    return lambda: setattr(hand, "location", (0.0, 1.0, 0.0))


def swollen_key(piece):
    piece.shape_key_add(name="Basis")
    key = piece.shape_key_add(name="Swollen", from_mix=False)
    for point in key.data:
        point.co.y -= 0.005
    return key


def own_property_read_by_a_driver(piece):
    piece["amount"] = 0.0
    curve = piece.driver_add("location", 1)
    read = curve.driver.variables.new()
    read.targets[0].id, read.targets[0].data_path = piece, '["amount"]'
    curve.driver.expression = read.name

    def change():
        piece["amount"] = 0.004
        piece.update_tag()

    return change


def absolute_keys(piece):
    swollen_key(piece).value = 1.0
    return lambda: setattr(piece.data.shape_keys, "use_relative", False)


def other_axis_of_a_keyed_place(piece):
    """Only X is keyed; Y is the hand's own."""
    piece.keyframe_insert("location", index=0, frame=1)
    return lambda: setattr(piece, "location", (0.0, 0.004, 0.0))


def other_axis_of_a_keyed_bone(piece):
    change = bone_parent(piece)
    bpy.data.objects["Rig"].pose.bones["Cheek"].keyframe_insert("location", index=0, frame=1)
    return change


def corner_of_a_mesh_it_hangs_on(piece):
    hook = add_to_scene("Hook", bpy.data.meshes.new("Hook"))
    hook.data.from_pydata([(0.3, 0.0, 0.0), (0.31, 0.0, 0.0), (0.3, 0.01, 0.0)], [], [(0, 1, 2)])
    piece.parent, piece.parent_type, piece.parent_vertices = hook, "VERTEX", (0, 0, 0)

    def change():
        hook.data.vertices[0].co.y += 0.004
        hook.data.update()

    return change


def another_corner_it_hangs_on(piece):
    corner_of_a_mesh_it_hangs_on(piece)
    return lambda: setattr(piece, "parent_vertices", (2, 0, 0))


def bone_that_bends_no_more(piece):
    bend_by = bone_deform(piece)
    bend_by()
    return lambda: setattr(bpy.data.objects["Rig"].data.bones["Cheek"], "use_deform", False)


def bone_of_more_segments(piece):
    bone_deform(piece)
    bpy.data.objects["Rig"].pose.bones["Cheek"].bbone_curveinx = 0.5
    return lambda: setattr(bpy.data.objects["Rig"].data.bones["Cheek"], "bbone_segments", 8)


def lattice(piece):
    cage = add_to_scene("Cage", bpy.data.lattices.new("Cage"))
    cage.scale, cage.data.points_u = (0.3, 0.3, 0.3), 4
    piece.modifiers.new("Cage", "LATTICE").object = cage
    return cage


def key_of_a_lattice(piece):
    cage = lattice(piece)
    cage.shape_key_add(name="Basis")
    key = cage.shape_key_add(name="Bent", from_mix=False)
    key.value = 0.0
    for point in key.data:
        point.co.y -= 0.1
    return lambda: setattr(key, "value", 1.0)


def way_of_a_lattice(piece):
    cage = lattice(piece)
    for place, point in enumerate(cage.data.points):
        point.co_deform.y += 0.3 * (place % 4 == 1)
    return lambda: setattr(cage.data, "interpolation_type_u", "KEY_LINEAR")


def tilt_of_a_curve(piece):
    bent_curve(piece)
    (line,) = bpy.data.objects["Way"].data.splines

    def change():
        for point in line.points:
            point.tilt = 1.0

    return change


def push_by(piece, make):
    """Move the piece along Y by a hundredth of what a node yields."""
    tree = bpy.data.node_groups.new("Push", "GeometryNodeTree")
    for kind in ("INPUT", "OUTPUT"):
        tree.interface.new_socket("Geometry", in_out=kind, socket_type="NodeSocketGeometry")
    into, out, push, scaled, along = (
        tree.nodes.new(kind)
        for kind in ("NodeGroupInput", "NodeGroupOutput", "GeometryNodeSetPosition", "ShaderNodeMath",
                     "ShaderNodeCombineXYZ")
    )  # fmt: skip
    node, socket = make(tree)
    scaled.operation, scaled.inputs[1].default_value = "MULTIPLY", 0.01
    tree.links.new(socket, scaled.inputs[0])
    tree.links.new(scaled.outputs[0], along.inputs["Y"])
    tree.links.new(along.outputs[0], push.inputs["Offset"])
    tree.links.new(into.outputs[0], push.inputs["Geometry"])
    tree.links.new(push.outputs[0], out.inputs[0])
    piece.modifiers.new("Push", "NODES").node_group = tree
    return node


def value_of_a_node(piece):
    def make(tree):
        node = tree.nodes.new("ShaderNodeValue")
        return node, node.outputs[0]

    node = push_by(piece, make)
    return lambda: setattr(node.outputs[0], "default_value", 0.4)


def ramp_of_a_node(piece):
    def make(tree):
        node = tree.nodes.new("ShaderNodeValToRGB")
        node.inputs[0].default_value = 0.5
        return node, node.outputs[0]

    node = push_by(piece, make)
    return lambda: setattr(node.color_ramp.elements[0], "color", (1.0, 1.0, 1.0, 1.0))


def named_attribute(tree):
    node = tree.nodes.new("GeometryNodeInputNamedAttribute")
    node.data_type, node.inputs[0].default_value = "FLOAT", "amount"
    return node, next(each for each in node.outputs if each.enabled)


def weights_that_nodes_read(piece):
    group = piece.vertex_groups.new(name="amount")
    group.add(range(len(piece.data.vertices)), 0.0, "REPLACE")
    push_by(piece, named_attribute)

    def change():
        group.add(range(len(piece.data.vertices)), 1.0, "REPLACE")
        piece.data.update()

    return change


def materials_that_nodes_read(piece):
    def make(tree):
        node = tree.nodes.new("GeometryNodeInputMaterialIndex")
        return node, node.outputs[0]

    for name in ("Bark", "Moss"):
        piece.data.materials.append(bpy.data.materials.new(name))
    push_by(piece, make)

    def change():
        piece.data.polygons.foreach_set("material_index", np.ones(len(piece.data.polygons), np.int32))
        piece.data.update()

    return change


def hooked_corners(piece):
    hand = add_to_scene("Hand", None)
    hook = piece.modifiers.new("Hook", "HOOK")
    hook.object = hand
    hook.vertex_indices_set(range(8))
    hand.location = (0.0, -0.01, 0.0)

    def change():
        hook.vertex_indices_set(range(400))
        piece.update_tag()

    return change


def noise_on_a_curve(piece):
    piece.keyframe_insert("location", frame=1)
    (curve,) = [each for each in _curves(piece) if each.array_index == 1]

    def change():
        curve.modifiers.new("GENERATOR").coefficients = (0.004, 1.0)
        bpy.context.scene.frame_set(bpy.context.scene.frame_current)

    return change


def strip_moved(piece):
    piece.keyframe_insert("location", frame=1)
    piece.location.y = 0.01
    piece.keyframe_insert("location", frame=20)
    data = piece.animation_data
    action, data.action = data.action, None
    strip = data.nla_tracks.new().strips.new("Slide", 1, action)
    bpy.context.scene.frame_set(5)

    def change():
        strip.frame_start, strip.frame_end = -10, 9
        bpy.context.scene.frame_set(5)

    return change


CASES = (
    bone_deform, bone_parent, bone_constraint, constraint_target, edited_curve, edited_driver, texture, crease,
    node_object, boolean_collection, bent_curve, controller_moved, controller_of_a_key, own_property_read_by_a_driver,
    absolute_keys, other_axis_of_a_keyed_place, other_axis_of_a_keyed_bone, corner_of_a_mesh_it_hangs_on,
    another_corner_it_hangs_on, bone_that_bends_no_more, bone_of_more_segments, key_of_a_lattice, way_of_a_lattice,
    tilt_of_a_curve, value_of_a_node, ramp_of_a_node, weights_that_nodes_read, materials_that_nodes_read,
    hooked_corners, noise_on_a_curve, strip_moved,
)  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_it_outdates_what_was_measured(design, case):
    change = case(design.piece)
    bpy.context.view_layer.update()
    assert bpy.ops.dryfit.check_fit(only="additive") == {"FINISHED"}
    look(design.scene, thoroughly=True)
    assert [row.outdated for row in design.bench.checks] == [""], "what was just measured holds"
    before = shown(design.piece)
    change()
    bpy.context.view_layer.update()
    after = shown(design.piece)
    assert before.shape != after.shape or np.abs(before - after).max() > 1e-4, "the case changes what is measured"
    look(design.scene)
    assert [row.outdated for row in design.bench.checks] != [""], "still said to hold"
    assert "CheekBark" in design.bench.checks["additive"].outdated


def outdated_by(design, change, checks="additive"):
    """Check, change something, and return why the first check no longer holds."""
    bpy.context.view_layer.update()
    assert bpy.ops.dryfit.check_fit(only=checks) == {"FINISHED"}
    look(design.scene, thoroughly=True)
    assert [row.outdated for row in design.bench.checks] == [""]
    change()
    bpy.context.view_layer.update()
    look(design.scene)
    return design.bench.checks[0].outdated


def hung_on_a_bone(mark):
    mark.parent, mark.parent_type, mark.parent_bone = add_bones(), "BONE", "Cheek"
    return lambda: bend(mark.parent)


def held_by_a_constraint(mark):
    target = add_to_scene("Target", None)
    mark.constraints.new("COPY_LOCATION").target = target
    return lambda: setattr(target, "location", (0.0, -0.08, -0.07))


def led_by_a_driver(mark):
    hand = add_to_scene("Hand", None)
    driven(mark, "location", 1, hand)
    return lambda: setattr(hand, "location", (0.0, 0.004, 0.0))


@pytest.mark.parametrize("case", [hung_on_a_bone, held_by_a_constraint, led_by_a_driver])
def test_a_landmark_that_something_else_leads_is_a_change(design, case):
    assert "landmarks" in outdated_by(design, case(bpy.data.objects["gnathion"]))


def test_a_camera_that_something_else_leads_is_a_change(design):
    camera = add_to_scene("Shot", bpy.data.cameras.new("Shot"))
    camera.location = (0.0, -1.0, 0.0)
    assert "cameras" in outdated_by(design, held_by_a_constraint(camera), "coverage")


def test_what_is_seen_beside_the_parts_is_told_with_its_shape_and_what_bends_it(design):
    beside = add_to_scene("Beside", bpy.data.meshes.new("Beside"))
    beside.data.from_pydata([(0.0, -0.15, 0.0), (0.01, -0.15, 0.0), (0.0, -0.15, 0.01)], [], [(0, 1, 2)])

    def sculpted():
        beside.data.vertices[0].co.y += 0.03
        beside.data.update()

    assert "what else is seen" in outdated_by(design, sculpted)
    assert "what else is seen" in outdated_by(design, lambda: beside.modifiers.new("Off", "DISPLACE"))
    assert "what else is seen" in outdated_by(design, held_by_a_constraint(beside))


def test_where_an_instanced_collection_begins_is_a_change(design):
    spikes = bpy.data.collections.new("Spikes")
    spike = bpy.data.objects.new("Spike", bpy.data.meshes.new("Spike"))
    spike.data.from_pydata([(0.0, 0.0, 0.0), (0.004, 0.0, 0.0), (0.0, 0.0, 0.004)], [], [(0, 1, 2)])
    spike["dryfit_role"] = "appliance"
    spikes.objects.link(spike)
    shown_at = add_to_scene("Spiked", None)
    shown_at.location, shown_at.instance_type, shown_at.instance_collection = (0.0, -0.11, 0.0), "COLLECTION", spikes
    assert "what else is seen" in outdated_by(design, lambda: setattr(spikes, "instance_offset", (0.0, 0.01, 0.0)))


def spike():
    item = bpy.data.objects.new("Spike", bpy.data.meshes.new("Spike"))
    item.data.from_pydata([(0.0, 0.0, 0.0), (0.004, 0.0, 0.0), (0.0, 0.0, 0.004)], [], [(0, 1, 2)])
    item["dryfit_role"] = "appliance"
    return item


def test_what_an_instanced_collection_hides_is_a_change(design):
    spikes = bpy.data.collections.new("Spikes")
    spikes.objects.link(spike())
    shown_at = add_to_scene("Spiked", None)
    shown_at.location, shown_at.instance_type, shown_at.instance_collection = (0.0, -0.11, 0.0), "COLLECTION", spikes
    assert "what else is seen" in outdated_by(design, lambda: setattr(spikes.objects[0], "hide_viewport", True))


def test_a_landmark_within_an_instanced_collection_counts_by_its_name_and_place(design):
    marks = bpy.data.collections.new("Marks")
    mark = bpy.data.objects.new("Lip", None)
    mark["dryfit_landmark"], mark.location = "subnasale", (0.0, -0.1, -0.01)
    marks.objects.link(mark)
    shown_at = add_to_scene("Marked", None)
    shown_at.instance_type, shown_at.instance_collection = "COLLECTION", marks
    assert "landmarks" in outdated_by(design, lambda: setattr(mark, "location", (0.0, -0.1, -0.02)))

    def renamed():
        mark["dryfit_landmark"] = "labiale_superius"

    assert "landmarks" in outdated_by(design, renamed)


def test_how_many_particles_show_a_piece_is_a_change(design):
    scale = spike()
    scale.location.y = -0.105
    design.scene.collection.objects.link(scale)
    settings = design.piece.modifiers.new("Scales", "PARTICLE_SYSTEM").particle_system.settings
    settings.type, settings.count, settings.render_type, settings.instance_object = "HAIR", 5, "OBJECT", scale
    assert "CheekBark" in outdated_by(design, lambda: setattr(settings, "count", 50))
    assert "CheekBark" in outdated_by(design, lambda: setattr(settings, "particle_size", 2.0))
    assert outdated_by(design, lambda: setattr(settings, "display_percentage", 50)) == ""


def test_a_metaball_is_told_with_its_balls(design):
    wart = add_to_scene("Wart", bpy.data.metaballs.new("Wart"))
    ball = wart.data.elements.new()
    ball.radius, wart.data.resolution, wart["dryfit_role"] = 0.02, 0.005, "hardware"
    assert "Wart" in outdated_by(design, lambda: setattr(ball, "radius", 0.03))


def test_a_curve_is_told_with_what_it_is_drawn_along(design):
    bent_curve(design.piece)
    design.piece.modifiers.clear()
    tube = bpy.data.objects["Way"]
    outline = tube.copy()
    outline.data = tube.data.copy()
    outline.scale, outline["dryfit_role"], tube["dryfit_role"] = (0.05, 0.05, 0.05), "ignore", "hardware"
    design.scene.collection.objects.link(outline)
    tube.data.bevel_mode, tube.data.bevel_object = "OBJECT", outline
    assert "Way" in outdated_by(design, lambda: setattr(outline, "scale", (0.2, 0.2, 0.2)))


def with_jaw_bone(design):
    """A rig whose bone the jaw's motion turns: it drives a key of the head, and the piece is bent by it."""
    change = bone_deform(design.piece)
    design.scene["dryfit_motions"] = (
        '{"jaw": {"bone": {"armature": "Rig", "name": "Cheek", "rotation_deg": [0.0, 20.0], "axis": "X"}}}'
    )
    return change


def test_a_rig_that_a_motion_poses_may_stand_in_any_pose(design):
    change = with_jaw_bone(design)
    bone = bpy.data.objects["Rig"].pose.bones["Cheek"]
    bone.rotation_mode = "XYZ"
    assert outdated_by(design, lambda: setattr(bone, "rotation_euler", (0.2, 0.0, 0.0))) == ""
    assert "CheekBark" in outdated_by(design, change), "its place is set by no motion"


def test_a_controller_whose_key_a_motion_sets_may_stand_anywhere(design):
    design.head.shape_key_add(name="Basis")
    key = design.head.shape_key_add(name="JawOpen", from_mix=False)
    key.data[0].co.z -= 0.01
    hand = add_to_scene("Hand", None)
    driven(key, "value", -1, hand)
    bpy.ops.dryfit.add_motion(motion="jaw", key="JawOpen", start=0.0, end=1.0)
    assert outdated_by(design, lambda: setattr(hand, "location", (0.0, 0.6, 0.0))) == ""


def test_picking_points_and_bones_by_hand_changes_nothing(design):
    bone_deform(design.piece)
    bent_curve(design.piece)

    def pick():
        bones = bpy.data.objects["Rig"].data.bones
        bones.active = bones["Cheek"]
        bpy.data.objects["Way"].data.splines[0].points[0].select = True
        design.piece.select_set(True)
        bpy.context.view_layer.objects.active = design.piece

    assert outdated_by(design, pick) == ""
