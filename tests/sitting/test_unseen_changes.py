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


CASES = (
    bone_deform, bone_parent, bone_constraint, constraint_target, edited_curve, edited_driver, texture, crease,
    node_object, boolean_collection, bent_curve,
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
