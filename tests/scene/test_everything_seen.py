"""Everything that a scene shows is measured under a role, or named; nothing of it stands silently under a pass."""

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
import dryfit  # noqa: E402
from dryfit.checks.runner import run_fitting  # noqa: E402
from dryfit.model.brief_reading import parse_brief  # noqa: E402
from dryfit.model.finding import Severity, Status  # noqa: E402
from dryfit.model.progress import drain  # noqa: E402
from dryfit.performer.tried_on import design_of  # noqa: E402
from dryfit.scene.reading import read_file, read_snapshot  # noqa: E402

FRONT = (0.0, -0.103, 0.0)


def read(brief=""):
    return read_snapshot(bpy.context, parse_brief(brief))


def parts(snapshot):
    return {part.name: str(part.role) for part in snapshot.parts}


def unmeasured(snapshot):
    return {seen.name: seen.kind for seen in snapshot.unmeasured}


def report(snapshot, only=("release",), brief=""):
    return drain(run_fitting(design_of(snapshot, parse_brief(brief)).fitting, only))


def into_collection(item, name):
    """Take an object out of the scene into a collection that only instances show."""
    held = bpy.data.collections.get(name) or bpy.data.collections.new(name)
    bpy.context.scene.collection.objects.unlink(item)
    held.objects.link(item)
    return held


def instance(held, name, location=(0.0, 0.0, 0.0), role=None):
    item = bpy.data.objects.new(name, None)
    bpy.context.scene.collection.objects.link(item)
    item.instance_type, item.instance_collection, item.location = "COLLECTION", held, location
    if role:
        item["dryfit_role"] = role
    return item


def linked(name, data, location=FRONT, role=None):
    item = bpy.data.objects.new(name, data)
    bpy.context.scene.collection.objects.link(item)
    item.location = location
    if role:
        item["dryfit_role"] = role
    return item


def nodes(item, make):
    """Give an object geometry nodes; ``make(tree, input, output)`` wires them."""
    tree = bpy.data.node_groups.new("Made", "GeometryNodeTree")
    for way in ("INPUT", "OUTPUT"):
        tree.interface.new_socket("Geometry", in_out=way, socket_type="NodeSocketGeometry")
    first, last = tree.nodes.new("NodeGroupInput"), tree.nodes.new("NodeGroupOutput")
    make(tree, first.outputs[0], last.inputs[0])
    item.modifiers.new("Nodes", "NODES").node_group = tree


def scattered(scale=0.004):
    """Cubes on every vertex beside the mesh itself."""

    def make(tree, first, last):
        on, cube, join = (
            tree.nodes.new(f"GeometryNode{kind}") for kind in ("InstanceOnPoints", "MeshCube", "JoinGeometry")
        )
        cube.inputs[0].default_value = (scale,) * 3
        for one, other in (
            (first, on.inputs["Points"]), (cube.outputs["Mesh"], on.inputs["Instance"]), (on.outputs[0], join.inputs[0]),
            (first, join.inputs[0]), (join.outputs[0], last),
        ):  # fmt: skip
            tree.links.new(one, other)

    return make


def curve(name, thick_m, location=FRONT, role=None):
    data = bpy.data.curves.new(name, "CURVE")
    data.dimensions, data.bevel_depth = "3D", thick_m
    spline = data.splines.new("POLY")
    spline.points.add(2)
    for place, point in enumerate(spline.points):
        point.co = (0.01 * place, 0.0, 0.0, 1.0)
    return linked(name, data, location, role)


def hair(name, location=FRONT, role=None):
    data = bpy.data.hair_curves.new(name)
    data.add_curves([3, 3])
    data.position_data.foreach_set("vector", np.linspace(0.0, 0.01, 18).astype(np.float32))
    return linked(name, data, location, role)


def metaball(name, location=FRONT, role=None):
    data = bpy.data.metaballs.new(name)
    data.resolution, data.elements.new().radius = 0.005, 0.02
    return linked(name, data, location, role)


def test_an_instanced_piece_is_measured_where_it_is_seen(build):
    build.sphere()
    held = into_collection(build.box("Cheek"), "Held")
    instance(held, "Left", (0.0, -0.12, 0.0))
    snapshot = read()
    assert parts(snapshot) == {"Head": "base", "Cheek in Left": "appliance"}
    cheek = snapshot.part("Cheek in Left")
    np.testing.assert_allclose(cheek.vertices_mm.mean(axis=0), [0, -120, 0], atol=1e-3)
    assert not snapshot.unmeasured


def test_an_instance_weighs_what_the_object_itself_weighs(build):
    build.sphere()
    piece = build.box("Cheek")
    piece.location, piece["dryfit_material"] = (0.0, -0.12, 0.0), "silicone"
    before = report(read(), ("load",)).to_dict()["checks"][0]["measures"]["mass_g"]
    piece.location = (0.0, 0.0, 0.0)
    instance(into_collection(piece, "Held"), "Left", (0.0, -0.12, 0.0))
    after = report(read(), ("load",)).to_dict()["checks"][0]["measures"]["mass_g"]
    assert after == pytest.approx(before, rel=1e-6)
    assert before == pytest.approx(0.02 * 0.03 * 0.04 * 1.07e6, rel=0.01)


def test_a_mirrored_instance_faces_outward(build):
    build.sphere()
    mirrored = instance(into_collection(build.box("Cheek"), "Held"), "Right", (0.0, -0.12, 0.0))
    mirrored.scale = (-1.0, 1.0, 1.0)
    cheek = read().part("Cheek in Right")
    corners = cheek.vertices_mm[cheek.faces] - cheek.vertices_mm.mean(axis=0)
    assert (np.linalg.det(corners) > 0).all()


def test_an_instance_moves_with_its_source(build):
    build.key(build.sphere(), "JawOpen", (0.0, 0.0, -0.02))
    piece = build.box("Cheek")
    build.key(piece, "JawOpen", (0.0, 0.0, -0.03))
    instance(into_collection(piece, "Held"), "Left", (0.0, -0.12, 0.0))
    snapshot = read("[motions.jaw]\nkeys = { JawOpen = [0.0, 1.0] }")
    frames = snapshot.motions["jaw"].frames_mm["Cheek in Left"]
    np.testing.assert_allclose(frames[1] - frames[0], np.tile([0.0, 0.0, -30.0], (8, 1)), atol=1e-3)


def test_what_shows_a_collection_gives_its_role_to_what_has_none_and_can_have_all_ignored(build):
    build.sphere()
    build.box("Worn")
    held = into_collection(build.box("Plain", role=None), "Held")
    instance(held, "As hardware", (0.0, -0.12, 0.0), "hardware")
    instance(into_collection(build.box("Old"), "Old ones"), "Reference", (0.0, -0.12, 0.0), "ignore")
    snapshot = read()
    assert parts(snapshot) == {"Head": "base", "Worn": "appliance", "Plain in As hardware": "hardware"}
    assert not snapshot.unmeasured


def test_what_geometry_nodes_make_on_a_piece_is_measured_as_the_piece_is(build):
    build.sphere()
    piece = build.box("Cheek")
    piece.location = (0.0, -0.13, 0.0)
    nodes(piece, scattered())
    snapshot = read()
    assert parts(snapshot) == {"Head": "base", "Cheek": "appliance", "instances on Cheek": "appliance"}
    assert len(snapshot.part("instances on Cheek").faces) == 8 * 12


def test_what_is_seen_as_instances_alone_has_no_empty_part(build):
    build.sphere()
    piece = build.box("Cheek")
    piece.location = (0.0, -0.13, 0.0)

    def only_instances(tree, first, last):
        on, cube = (tree.nodes.new(f"GeometryNode{kind}") for kind in ("InstanceOnPoints", "MeshCube"))
        cube.inputs[0].default_value = (0.004,) * 3
        tree.links.new(first, on.inputs["Points"])
        tree.links.new(cube.outputs["Mesh"], on.inputs["Instance"])
        tree.links.new(on.outputs[0], last)

    nodes(piece, only_instances)
    assert parts(read()) == {"Head": "base", "instances on Cheek": "appliance"}


def test_a_scene_of_every_kind_of_object(build):
    """One of each with a role, and one without, all near the face: none is silent."""
    build.sphere()
    for role in ("appliance", None):
        word = "worn" if role else "loose"
        build.box(f"mesh {word}", role=role).location = FRONT
        curve(f"curve {word}", 0.002, role=role)
        linked(f"text {word}", bpy.data.curves.new(f"text {word}", "FONT"), role=role).data.body = "x"
        bpy.ops.surface.primitive_nurbs_surface_sphere_add(radius=0.01, location=FRONT)
        made = bpy.context.object
        made.name = f"surface {word}"
        made.update_tag()
        if role:
            made["dryfit_role"] = role
        metaball(f"metaball {word}", role=role)
        hair(f"hair {word}", role=role)
        linked(f"points {word}", bpy.data.pointclouds.new(f"points {word}"), role=role)
        linked(f"volume {word}", bpy.data.volumes.new(f"volume {word}"), role=role)
        instance(into_collection(build.box(f"held {word}", role=role), f"held {word}"), f"at {word}", FRONT)
        furry = build.box(f"furry {word}", role=role)
        furry.location = FRONT
        furry.modifiers.new(f"fur {word}", "PARTICLE_SYSTEM")
        furry.particle_systems[0].settings.type = "HAIR"
        furry.particle_systems[0].name = f"fur {word}"
        scales = build.box(f"scales {word}", role=role)
        scales.location = FRONT
        nodes(scales, scattered())
    build.empty("Aim")
    build.camera("Shot", (0.0, -1.0, 0.0))
    linked("Lamp", bpy.data.lights.new("Lamp", "POINT"))
    curve("guide", 0.0)
    snapshot = read()
    measured = {name: role for name, role in parts(snapshot).items() if name != "Head"}
    kinds = ("mesh", "curve", "text", "surface", "metaball", "furry", "scales")
    assert {*measured} == {
        *(f"{kind} worn" for kind in kinds), "held worn in at worn", "instances on scales worn",
    }  # fmt: skip
    assert {*measured.values()} == {"appliance"}
    named = {
        **{f"{kind} loose": "mesh" for kind in ("mesh", "furry", "scales")},
        **{f"{kind} loose": kind for kind in ("curve", "text", "surface", "metaball")},
        "held loose in at loose": "mesh", "instances on scales loose": "mesh",
    }  # fmt: skip
    for word in ("worn", "loose"):
        named |= {f"hair {word}": "hair", f"points {word}": "point cloud", f"volume {word}": "volume"}
        named |= {f"fur {word} on furry {word}": "hair"}
    assert unmeasured(snapshot) == named


def test_a_mesh_without_a_role_near_the_face_is_to_be_reviewed_and_a_far_one_is_noted(build):
    build.sphere()
    piece = build.box("Worn")
    piece.location = (0.0, -0.12, 0.0)
    piece["dryfit_material"] = "silicone"
    assert report(read()).verdict == Status.PASS
    horn = build.box("Horn", role=None)
    horn.location = (0.0, 0.0, 0.13)
    build.box("Chair", role=None).location = (1.0, 0.0, 0.0)
    found = report(read())
    assert found.verdict == Status.REVIEW
    (finding,) = [each for each in found.checks[0].findings if each.severity is Severity.REVIEW]
    assert "'Horn' (mesh) is seen 10.0 mm from the face and was not measured" in finding.message
    assert finding.value == pytest.approx(10.0, abs=0.2)
    notes = found.inputs["notes"]
    assert any("'Horn' (mesh, 10.0 mm from the face)" in note for note in notes)
    assert any("'Chair' (mesh, not near the face)" in note for note in notes)
    horn["dryfit_role"] = "ignore"
    assert report(read()).verdict == Status.PASS


def test_a_brief_can_have_hair_and_instances_ignored(build):
    build.sphere()
    furry = build.box("Worn")
    furry.location = (0.0, -0.12, 0.0)
    furry.modifiers.new("fur", "PARTICLE_SYSTEM")
    furry.particle_systems[0].settings.type, furry.particle_systems[0].name = "HAIR", "Fur"
    hair("Wig")
    instance(into_collection(build.box("Old"), "Held"), "Reference", FRONT)
    assert {*unmeasured(read())} == {"Fur on Worn", "Wig"}
    ignored = read('[roles]\nignore = ["Fur", "Wig", "Ref*"]')
    assert not ignored.unmeasured
    assert parts(ignored) == {"Head": "base", "Worn": "appliance"}


def test_hidden_objects_and_cutters_are_not_seen(build):
    build.sphere()
    build.box("Worn")
    build.hide_all(build.box("Old", role=None))
    build.box("Cutter", role=None).display_type = "WIRE"
    assert not read().unmeasured


def test_what_was_not_measured_is_kept_in_a_saved_snapshot(build, tmp_path):
    build.sphere()
    build.box("Worn").location = (0.0, -0.12, 0.0)
    build.box("Horn", role=None).location = FRONT
    before = read()
    after = dryfit.load_snapshot(dryfit.save_snapshot(before, tmp_path / "design.npz"))
    assert unmeasured(after) == {"Horn": "mesh"}
    np.testing.assert_array_equal(after.unmeasured[0].points_mm, before.unmeasured[0].points_mm)


def test_looking_at_everything_leaves_the_scene_as_it_was(build, state):
    build.key(build.sphere(), "JawOpen", (0.0, 0.0, -0.02), value=0.3)
    instance(into_collection(build.box("Cheek"), "Held"), "Left", FRONT)
    nodes(build.box("Scales"), scattered())
    hair("Wig")
    before = state()
    read("[motions.jaw]\nkeys = { JawOpen = [0.0, 1.0] }")
    assert state() == before


def test_a_role_on_the_outermost_instance_reaches_what_is_within_instances_of_it(build):
    build.sphere()
    within = instance(into_collection(build.box("Cheek", role=None), "Inner"), "In")
    shower = instance(into_collection(within, "Outer"), "Out", FRONT, "appliance")
    assert parts(read()) == {"Head": "base", "Cheek in Out": "appliance"}
    shower["dryfit_role"] = "ignore"
    build.box("Worn")
    ignored = read()
    assert parts(ignored) == {"Head": "base", "Worn": "appliance"}
    assert not ignored.unmeasured and not any("Hidden within" in note for note in ignored.notes)


def test_what_an_instance_within_an_instance_shows_is_one_of_both(build):
    build.sphere()
    within = instance(into_collection(build.box("Cheek"), "Inner"), "In", (0.0, 0.0, 0.01))
    instance(into_collection(within, "Outer"), "Out", FRONT)
    np.testing.assert_allclose(read().part("Cheek in Out").vertices_mm.mean(axis=0), [0, -103, 10], atol=1e-3)


@pytest.mark.parametrize("realised", [False, True])
def test_nodes_weigh_the_same_realised_or_not(build, realised):
    build.sphere()
    piece = build.box("Cheek")
    piece.location, piece["dryfit_material"] = (0.0, -0.13, 0.0), "silicone"

    def make(tree, first, last):
        on, cube, join = (
            tree.nodes.new(f"GeometryNode{kind}") for kind in ("InstanceOnPoints", "MeshCube", "JoinGeometry")
        )
        cube.inputs[0].default_value = (0.004,) * 3
        tree.links.new(first, on.inputs["Points"])
        tree.links.new(cube.outputs["Mesh"], on.inputs["Instance"])
        made = on.outputs[0]
        if realised:
            real = tree.nodes.new("GeometryNodeRealizeInstances")
            tree.links.new(made, real.inputs[0])
            made = real.outputs[0]
        for one, other in ((made, join.inputs[0]), (first, join.inputs[0]), (join.outputs[0], last)):
            tree.links.new(one, other)

    nodes(piece, make)
    snapshot = read()
    assert len(snapshot.parts) == (2 if realised else 3)
    assert sum(len(part.faces) for part in snapshot.with_role("appliance")) == 9 * 12


@pytest.mark.parametrize("way", ["holdout", "indirect_only"])
def test_what_a_view_layer_only_masks_is_seen(build, way):
    build.sphere()
    build.box("Worn").location = (0.0, -0.13, 0.0)
    build.box("Horn", role=None).location = FRONT
    held = into_collection(bpy.data.objects["Horn"], "Masked")
    bpy.context.scene.collection.children.link(held)
    setattr(bpy.context.view_layer.layer_collection.children["Masked"], way, True)
    assert unmeasured(read()) == {"Horn": "mesh"}


@pytest.mark.parametrize("scale", [(-1.0, -1.0, -1.0), (1.0, -1.0, 1.0), (-2.0, 1.0, 0.5)])
def test_an_instance_of_negative_scale_faces_outward(build, scale):
    build.sphere()
    instance(into_collection(build.box("Cheek"), "Held"), "Out", (0.0, -0.13, 0.0)).scale = scale
    cheek = read().part("Cheek in Out")
    corners = cheek.vertices_mm[cheek.faces] - cheek.vertices_mm.mean(axis=0)
    assert (np.linalg.det(corners) > 0).all()


def test_a_library_override_is_measured_where_the_shot_has_it(build, tmp_path):
    build.sphere()
    piece = build.box("Cheek")
    asset = bpy.data.collections.new("Asset")
    bpy.context.scene.collection.children.link(asset)
    for item in (bpy.data.objects["Head"], piece):
        bpy.context.scene.collection.objects.unlink(item)
        asset.objects.link(item)
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "asset.blend"))
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    with bpy.data.libraries.load(str(tmp_path / "asset.blend"), link=True) as (_, wanted):
        wanted.collections = ["Asset"]
    linked_one = bpy.data.collections["Asset"]
    bpy.context.scene.collection.children.link(linked_one)
    linked_one.override_hierarchy_create(bpy.context.scene, bpy.context.view_layer)
    bpy.context.scene.collection.children.unlink(linked_one)
    own = next(item for item in bpy.context.scene.objects if item.name == "Cheek")
    assert own.override_library is not None
    own.location = (0.0, -0.15, 0.0)
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "shot.blend"))
    shot = read_file(tmp_path / "shot.blend", parse_brief(""))
    assert parts(shot) == {"Head": "base", "Cheek": "appliance"}
    np.testing.assert_allclose(shot.part("Cheek").vertices_mm.mean(axis=0), [0, -150, 0], atol=1e-3)


def test_pieces_in_another_scene_of_the_file_are_told(build):
    build.sphere()
    build.box("Worn")
    other = bpy.data.scenes.new("Other")
    bad = build.box("Bad")
    bpy.context.scene.collection.objects.unlink(bad)
    other.collection.objects.link(bad)
    snapshot = read()
    assert "Bad" not in parts(snapshot)
    assert "Only the scene 'Scene' was measured; in 'Other' are Bad." in snapshot.notes


def test_a_piece_that_looks_otherwise_in_renders_is_told(build):
    build.sphere()
    piece = build.box("Worn")
    shell = piece.modifiers.new("Shell", "SOLIDIFY")
    finer = piece.modifiers.new("Finer", "SUBSURF")
    assert (finer.levels, finer.render_levels) == (1, 2)
    shell.show_viewport = False
    (note,) = [note for note in read().notes if "in renders" in note]
    assert note == "'Worn' looks otherwise in renders (modifiers Shell, Finer); measured as in the viewport."
    shell.show_viewport, finer.levels = True, 2
    assert not any("in renders" in note for note in read().notes)
