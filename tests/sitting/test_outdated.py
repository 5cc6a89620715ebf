"""Is a result still true of the scene? One answer, for the gate that reads everything and for rows that follow touches."""

import json
from dataclasses import fields

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from bench_scene import sheet_on_sphere  # noqa: E402
from dryfit.checks.registry import CHECKS  # noqa: E402
from dryfit.model.snapshot import Part, Snapshot  # noqa: E402
from dryfit.scene.reading import read_snapshot  # noqa: E402
from dryfit.sitting.brief_beside import brief_beside  # noqa: E402
from dryfit.sitting.changes import HANDLERS  # noqa: E402
from dryfit.sitting.freshness import look, tick  # noqa: E402
from dryfit.sitting.standing import figures_now, standing  # noqa: E402
from dryfit.sitting.still_true import design_prints as design_prints_module  # noqa: E402
from dryfit.sitting.still_true import shape_prints  # noqa: E402
from dryfit.sitting.still_true.design_prints import SEEN, design_prints  # noqa: E402
from dryfit.sitting.still_true.outdated import unrun_checks  # noqa: E402
from dryfit.sitting.still_true.shape_prints import HELD, ShapePrints  # noqa: E402
from dryfit.sitting.stored_report import stored_report  # noqa: E402

RUN = ("additive", "edge")


def add_key(item, name, by=(0.0, -0.001, 0.0), count=50):
    """A shape key that moves the first vertices."""
    if item.data.shape_keys is None:
        item.shape_key_add(name="Basis")
    key = item.shape_key_add(name=name, from_mix=False)
    key.value = 0.0  # a new key stands at 1 in some Blenders
    for point in key.data[:count]:
        point.co = [place + step for place, step in zip(point.co, by, strict=True)]
    return key


def add_empty(name, place=(0.0, 0.0, 0.0)):
    item = bpy.data.objects.new(name, None)
    item.location = place
    bpy.context.scene.collection.objects.link(item)
    return item


def add_nodes(item):
    """A modifier whose nodes take one number, and one node that has one."""
    tree = bpy.data.node_groups.new("Swell", "GeometryNodeTree")
    for kind in ("INPUT", "OUTPUT"):
        tree.interface.new_socket("Geometry", in_out=kind, socket_type="NodeSocketGeometry")
    tree.interface.new_socket("Amount", in_out="INPUT", socket_type="NodeSocketFloat")
    into, out, push = (
        tree.nodes.new(kind) for kind in ("NodeGroupInput", "NodeGroupOutput", "GeometryNodeSetPosition")
    )
    tree.links.new(into.outputs[0], push.inputs[0])
    tree.links.new(push.outputs[0], out.inputs[0])
    modifier = item.modifiers.new("Swell", "NODES")
    modifier.node_group = tree
    return modifier, push


def node_input(modifier, value):
    """Set the number, where this Blender keeps it."""
    if hasattr(modifier, "properties"):
        modifier.properties.inputs.Socket_2.value = value
    else:
        modifier["Socket_2"] = value


def animate(item, path, before, after):
    for frame, value in ((1, before), (20, after)):
        setattr(item, path, value)
        item.keyframe_insert(path, frame=frame)


def add_instance():
    """A piece that is seen as the instance of a collection alone."""
    held = bpy.data.collections.new("Held")
    item = sheet_on_sphere("Instanced", 6, 0.2, lambda angle, turn: 0.02 + 0.0 * angle)
    bpy.context.scene.collection.objects.unlink(item)
    held.objects.link(item)
    item["dryfit_role"] = "hardware"
    shows = add_empty("Shows")
    shows.instance_type, shows.instance_collection = "COLLECTION", held


def held_vertex():
    mesh = bpy.data.objects["Instanced"].data
    mesh.update_tag()
    return mesh.vertices[0]


@pytest.fixture
def rich(design, tmp_path):
    """The design with all that a file may hold, saved beside a brief and measured for clearance and rim."""
    (tmp_path / "brief.toml").write_text("[limits]\nrim_thickness_mm = 0.4\n", encoding="utf8")
    head, piece = design.head, design.piece
    add_key(head, "JawOpen", (0.0, 0.0, -0.004))
    bpy.ops.dryfit.add_motion(motion="jaw", key="JawOpen", start=0.0, end=1.0)
    add_key(piece, "dryfit lift 1").value = 1.0
    head.vertex_groups.new(name="dryfit_lip_upper").add(list(range(10)), 1.0, "REPLACE")
    piece.vertex_groups.new(name="mask").add(list(range(20)), 1.0, "REPLACE")
    piece.data.shape_keys.key_blocks["dryfit lift 1"].vertex_group = "mask"
    piece["dryfit_material"] = "silicone"
    piece.modifiers.new("Shell", "SOLIDIFY").thickness = 0.0001
    add_nodes(piece)
    operand = sheet_on_sphere("Target", 6, 0.2, lambda angle, turn: 0.02 + 0.0 * angle)
    add_instance()
    operand.display_type = "WIRE"  # a tool: nothing that is seen beside the parts
    piece.modifiers.new("Wrap", "SHRINKWRAP").target = operand
    piece.modifiers["Wrap"].vertex_group = "nothing"
    piece.parent = add_empty("Rig")
    camera = bpy.data.objects.new("Shot", bpy.data.cameras.new("Shot"))
    design.scene.collection.objects.link(camera)
    bpy.context.view_layer.update()
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "design.blend"))
    assert bpy.ops.dryfit.check_fit(only=",".join(RUN)) == {"FINISHED"}
    assert standing(design.scene).fresh and not design.bench.stale
    design.folder = tmp_path
    return design


def jaw(design):
    return design.head.data.shape_keys.key_blocks["JawOpen"]


def lift(design):
    return design.piece.data.shape_keys.key_blocks["dryfit lift 1"]


def with_mode(item, mode):
    bpy.context.view_layer.objects.active = item
    bpy.ops.object.mode_set(mode=mode)
    bpy.context.view_layer.update()
    bpy.ops.object.mode_set(mode="OBJECT")


NO_CHANGE = {
    "a motion's key at 0.7": lambda d: setattr(jaw(d), "value", 0.7),
    "a motion's key muted": lambda d: setattr(jaw(d), "mute", True),
    "a key shown alone": lambda d: setattr(d.head, "show_only_shape_key", True),
    "another frame": lambda d: d.scene.frame_set(20),
    "paint": lambda d: setattr(d.bench, "paint", True),
    "a look": lambda d: d.piece.data.materials.append(bpy.data.materials.new("Bark")),
    "hidden": lambda d: d.piece.hide_set(True),
    "left out of renders": lambda d: setattr(d.piece, "hide_render", True),
    "another name": lambda d: setattr(d.piece, "name", "Barked"),
    "another name of the base": lambda d: setattr(d.head, "name", "Scan"),
    "edit mode": lambda d: with_mode(d.piece, "EDIT"),
    "sculpt mode": lambda d: with_mode(d.piece, "SCULPT"),
    "levels of renders": lambda d: setattr(d.piece.modifiers["Shell"], "show_render", False),
    "a folded panel": lambda d: setattr(d.piece.modifiers["Shell"], "show_expanded", False),
    "figures of a material that nothing is of": lambda d: d.scene.__setitem__(
        "dryfit_materials", json.dumps({"gelatin": {"density_g_cm3": 1.4}})
    ),
    "the same figure stated": lambda d: d.scene.__setitem__("dryfit_limits", json.dumps({"rim_thickness_mm": 0.4})),
    "another camera, for clearance and rim": lambda d: setattr(bpy.data.objects["Shot"], "location", (1.0, 2.0, 3.0)),
    "a key that moves nothing": lambda d: setattr(d.head.data.shape_keys.key_blocks["Basis"], "value", 0.5),
}


@pytest.mark.parametrize("what", NO_CHANGE)
def test_what_changes_nothing_that_is_measured_changes_no_answer(rich, what):
    before = read_snapshot(bpy.context, brief_beside())
    NO_CHANGE[what](rich)
    bpy.context.view_layer.update()
    look(rich.scene)
    assert standing(rich.scene).outdated == {}
    assert not rich.bench.stale and [row.outdated for row in rich.bench.checks] == ["", ""]
    after = read_snapshot(bpy.context, brief_beside())
    for old in before.parts:
        new = next(part for part in after.parts if part.role == old.role)
        assert np.array_equal(new.vertices_mm, old.vertices_mm), "what is measured is the same, to the last bit"


def test_what_animation_and_drivers_set_belongs_to_a_frame_and_not_to_the_design(rich):
    piece, scene = rich.piece, rich.scene
    animate(piece, "location", (0.0, 0.0, 0.0), (0.0, 0.01, 0.0))
    animate(piece.modifiers["Shell"], "thickness", 0.0001, 0.001)
    animate(lift(rich), "value", 1.0, 0.0)
    driven = piece.driver_add("scale", 0).driver
    driven.expression = "frame"
    animate(rich.head, "rotation_euler", (0.0, 0.0, 0.0), (0.1, 0.0, 0.0))
    scene.frame_set(1)
    bpy.ops.dryfit.check_fit(only=",".join(RUN))
    scene.frame_set(20)
    bpy.context.view_layer.update()
    assert standing(scene).outdated == {} and not rich.bench.stale
    piece.delta_location.y = 0.001
    bpy.context.view_layer.update()
    assert set(standing(scene).outdated["edge"]) == {"CheekBark (place)"}, "the rest of its place still counts"


def brush(design):
    """A stroke in Sculpt Mode, as far as it can be made without a window."""
    bpy.context.view_layer.objects.active = design.piece
    bpy.ops.object.mode_set(mode="SCULPT")
    design.piece.data.shape_keys.key_blocks["Basis"].data[7].co.y -= 0.002
    design.piece.data.update()


def write_brief(design, text):
    path = design.folder / "brief.toml"
    path.write_text(text, encoding="utf8")


def new_part(design):
    item = sheet_on_sphere("Ball", 6, 0.1, lambda angle, turn: 0.004 + 0.0 * angle)
    item["dryfit_role"] = "hardware"


PIECE, BASE = "CheekBark", "Head"
CHANGES = {
    "a stroke": (brush, f"{PIECE} (shape)"),
    "a vertex": (lambda d: setattr(d.piece.data.vertices[9].co, "x", 0.5), f"{PIECE} (shape)"),
    "its faces": (lambda d: d.piece.data.flip_normals(), f"{PIECE} (shape)"),
    "moved": (lambda d: setattr(d.piece, "location", (0.0, -0.001, 0.0)), f"{PIECE} (place)"),
    "what it hangs on moved": (
        lambda d: setattr(bpy.data.objects["Rig"], "location", (0.0, -0.001, 0.0)), f"{PIECE} (place)",
    ),
    "held by a constraint": (
        lambda d: setattr(d.piece.constraints.new("COPY_LOCATION"), "target", d.head), f"{PIECE} (place)",
    ),
    "a key added": (lambda d: add_key(d.piece, "Frown"), f"{PIECE} (shape)"),
    "a key removed": (lambda d: d.piece.shape_key_remove(lift(d)), f"{PIECE} (shape, key values)"),
    "a key's shape": (lambda d: setattr(lift(d).data[3].co, "x", 0.5), f"{PIECE} (shape)"),
    "a fix dialled down": (lambda d: setattr(lift(d), "value", 0.4), f"{PIECE} (key values)"),
    "a fix muted": (lambda d: setattr(lift(d), "mute", True), f"{PIECE} (key values)"),
    "a fix's mask": (lambda d: d.piece.vertex_groups["mask"].add([30], 1.0, "REPLACE"), f"{PIECE} (shape)"),
    "a marked area": (
        lambda d: d.head.vertex_groups["dryfit_lip_upper"].add([30], 1.0, "REPLACE"), f"{BASE} (shape)",
    ),
    "a modifier's setting": (
        lambda d: setattr(d.piece.modifiers["Shell"], "thickness", 0.002), f"{PIECE} (modifiers)",
    ),
    "a modifier switched off": (
        lambda d: setattr(d.piece.modifiers["Shell"], "show_viewport", False), f"{PIECE} (modifiers)",
    ),
    "a modifier added": (lambda d: d.piece.modifiers.new("Soft", "SMOOTH"), f"{PIECE} (modifiers)"),
    "what nodes are given": (lambda d: node_input(d.piece.modifiers["Swell"], 2.0), f"{PIECE} (modifiers)"),
    "what nodes do": (
        lambda d: setattr(bpy.data.node_groups["Swell"].nodes["Set Position"].inputs["Offset"], "default_value", (0, 1, 0)),
        f"{PIECE} (modifiers)",
    ),
    "what a modifier looks at, moved": (
        lambda d: setattr(bpy.data.objects["Target"], "location", (0.0, 0.1, 0.0)), f"{PIECE} (modifiers)",
    ),
    "what a modifier looks at, reshaped": (
        lambda d: setattr(bpy.data.meshes["Target"].vertices[0].co, "y", 0.1), f"{PIECE} (modifiers)",
    ),
    "its role": (lambda d: d.piece.__setitem__("dryfit_role", "hardware"), f"{PIECE} (role)"),
    "a mesh beside it": (lambda d: sheet_on_sphere("Horn", 6, 0.2, lambda angle, turn: 0.01 + 0.0 * angle), SEEN),
    "what an instance shows": (lambda d: setattr(held_vertex(), "co", (0.0, -0.2, 0.0)), SEEN),
    "an instance, moved": (lambda d: setattr(bpy.data.objects["Shows"], "location", (0.0, 0.1, 0.0)), SEEN),
    "a mark on it": (lambda d: d.piece.__setitem__("dryfit_performers_own", True), f"{PIECE} (marks)"),
    "its role taken away": (lambda d: d.piece.__setitem__("dryfit_role", ""), (f"{PIECE} (gone)", SEEN)),
    "its material": (lambda d: d.piece.__setitem__("dryfit_material", "gelatin"), f"{PIECE} (material)"),
    "its material's figures": (
        lambda d: d.scene.__setitem__("dryfit_materials", json.dumps({"silicone": {"density_g_cm3": 1.3}})),
        f"{PIECE} (material)",
    ),
    "the base": (lambda d: setattr(d.head.data.vertices[9].co, "x", 0.5), f"{BASE} (shape)"),
    "the piece deleted": (lambda d: bpy.data.objects.remove(d.piece), f"{PIECE} (gone)"),
    "the base deleted": (lambda d: bpy.data.objects.remove(d.head), f"{BASE} (gone)"),
    "a part added": (new_part, "Ball (new)"),
    "a landmark moved": (lambda d: setattr(bpy.data.objects["sellion"], "location", (0.0, -0.2, 0.0)), "landmarks"),
    "a landmark removed": (lambda d: bpy.data.objects.remove(bpy.data.objects["sellion"]), "landmarks"),
    "a landmark only proposed": (
        lambda d: bpy.data.objects["sellion"].__setitem__("dryfit_landmark_proposed", 4.0), "landmarks",
    ),
    "a limit in the sidebar": (lambda d: setattr(d.bench.limits, "rim_thickness_mm", 3.0), "limits"),
    "a limit of the brief on disk": (lambda d: write_brief(d, "[limits]\nrim_thickness_mm = 3.0\n"), "limits"),
    "the brief gone": (lambda d: (d.folder / "brief.toml").unlink(), "limits"),
    "an exception of the brief on disk": (
        lambda d: write_brief(
            d,
            '[limits]\nrim_thickness_mm = 0.4\n[[exceptions]]\ncheck = "edge"\nobject = "CheekBark"\nreason = "hair"\n',
        ),
        "brief",
    ),
    "a motion of the brief on disk": (
        lambda d: write_brief(d, "[limits]\nrim_thickness_mm = 0.4\n[motions.jaw]\nkeys = { JawOpen = [0.2, 1.0] }\n"),
        "motions",
    ),
    "a motion taken away": (lambda d: bpy.ops.dryfit.remove_motion(motion="jaw"), "motions"),
    "the unit": (lambda d: setattr(d.scene.unit_settings, "scale_length", 0.5), "unit scale"),
}  # fmt: skip


@pytest.mark.parametrize("what", CHANGES)
def test_what_changes_the_design_outdates_every_check_and_is_named(rich, what):
    change, cause = CHANGES[what]
    change(rich)
    bpy.context.view_layer.update()
    look(rich.scene)
    found = standing(rich.scene)
    causes = cause if isinstance(cause, tuple) else (cause,)
    assert found.outdated == dict.fromkeys(RUN, causes)
    assert (str(found.verdict), found.fresh) == ("not_checked", False) and causes[0] in found.why
    bench = rich.bench
    assert bench.stale and bench.verdict == "not_checked", "the sidebar says what the gate says"
    for row in bench.checks:
        assert (row.status, row.reason) == ("not_checked", f"Changed since it was measured: {', '.join(causes)}")


def test_whatever_is_measured_is_known_to_the_answer():
    """A new field of what is read from a scene must be looked for too: then it may be added here."""
    assert {entry.name for entry in fields(Snapshot)} == {
        "name", "parts", "landmarks", "motions", "lock", "source", "sha256", "notes", "cameras", "exceptions", "own",
        "proposed", "unmeasured", "lost_motions", "unmatched", "rims_mm",
    }  # fmt: skip
    shape = {"vertices_mm", "faces", "areas"}
    assert {entry.name for entry in fields(Part)} == shape | {"name", "role", "material", "own"}


def test_a_name_in_the_brief_that_nothing_has_outdates_what_was_measured(rich):
    write_brief(rich, '[limits]\nrim_thickness_mm = 0.4\n[roles]\nhardware = ["Nose*", "Horn"]\n')
    look(rich.scene)
    assert rich.bench.verdict == "not_checked"
    assert all("what else is seen" in row.outdated for row in rich.bench.checks)


def test_an_unreadable_brief_leaves_nothing_standing(rich):
    write_brief(rich, "[limits\n")
    look(rich.scene)
    assert not standing(rich.scene).fresh
    assert [row.status for row in rich.bench.checks] == ["not_checked", "not_checked"]
    assert all("Not known whether this still holds" in row.reason for row in rich.bench.checks)
    write_brief(rich, "[limits]\nrim_thickness_mm = 0.4\n")
    look(rich.scene)
    assert not rich.bench.stale and "still holds" not in rich.bench.checks["edge"].reason, "readable again, as it was"


def test_cameras_count_for_the_teeth_alone(rich):
    bpy.ops.dryfit.check_fit(only="coverage,edge")
    bpy.data.objects["Shot"].location = (1.0, 2.0, 3.0)
    bpy.context.view_layer.update()
    assert standing(rich.scene).outdated == {"coverage": ("cameras",)}


def test_rows_come_back_when_the_change_is_taken_back(rich):
    before = [(row.name, row.status, row.reason) for row in rich.bench.checks]
    verdict = rich.bench.verdict
    rich.piece.location.y = 0.25
    bpy.context.view_layer.update()
    assert rich.bench.stale
    rich.piece.location.y = 0.0
    bpy.context.view_layer.update()
    assert not rich.bench.stale and rich.bench.verdict == verdict
    assert [(row.name, row.status, row.reason) for row in rich.bench.checks] == before


def test_undo_and_redo_take_the_answer_along(rich):
    bpy.ops.ed.undo_push(message="measured")
    bpy.data.objects[PIECE].location.y = 0.25
    bpy.context.view_layer.update()
    bpy.ops.ed.undo_push(message="moved")
    assert bpy.context.scene.dryfit.stale
    bpy.ops.ed.undo()
    assert bpy.data.objects[PIECE].location.y == 0.0
    assert standing(bpy.context.scene).fresh and not bpy.context.scene.dryfit.stale
    bpy.ops.ed.redo()
    assert not standing(bpy.context.scene).fresh and bpy.context.scene.dryfit.stale


def test_undoing_a_check_brings_back_the_answer_from_before(rich):
    bpy.ops.ed.undo_push(message="measured")
    bpy.data.objects[PIECE].location.y = 0.001
    bpy.ops.dryfit.check_fit(only=",".join(RUN))
    bpy.ops.ed.undo_push(message="measured again")
    assert standing(bpy.context.scene).fresh
    bpy.ops.ed.undo()
    assert bpy.data.objects[PIECE].location.y == 0.0 and standing(bpy.context.scene).fresh
    assert not bpy.context.scene.dryfit.stale


def test_what_another_version_measured_does_not_hold(checked, monkeypatch):
    assert standing(checked.scene).fresh
    monkeypatch.setattr(design_prints_module, "VERSION", "99.0")
    now = standing(checked.scene)
    assert not now.fresh and now.verdict == "not_checked"
    assert "the version of Dryfit" in now.why


def test_saving_and_opening_take_the_answer_along_and_a_brief_changed_between_is_seen(rich):
    path = bpy.data.filepath
    rich.piece.data.shape_keys.key_blocks["Basis"].data.foreach_set(
        "co", np.full(len(rich.piece.data.vertices) * 3, 0.1, np.float32)
    )
    bpy.ops.wm.save_mainfile()
    assert rich.bench.stale, "no word from Blender where a script writes a block; a save reads everything"
    bpy.ops.wm.open_mainfile(filepath=path)
    assert bpy.context.scene.dryfit.stale
    bpy.ops.dryfit.check_fit(only=",".join(RUN))
    assert not bpy.context.scene.dryfit.stale
    bpy.ops.wm.save_mainfile()
    write_brief(rich, "[limits]\nrim_thickness_mm = 3.0\n")
    bpy.ops.wm.open_mainfile(filepath=path)
    assert {row.reason for row in bpy.context.scene.dryfit.checks} == {"Changed since it was measured: limits"}


def test_a_part_named_as_something_else_that_counts_is_not_mistaken_for_it(checked):
    checked.piece.name = "landmarks"
    bpy.ops.dryfit.check_fit(only="additive")
    checked.piece.data.vertices[5].co.y -= 0.001
    bpy.context.view_layer.update()
    assert standing(checked.scene).outdated == dict.fromkeys(RUN, ("object landmarks (shape)",))


def test_a_name_changed_between_two_runs_changes_nothing_either(checked):
    """The rim's findings are on the piece by its earlier name, the clearance's by its present one."""
    checked.piece.name = "Barked"
    bpy.ops.dryfit.check_fit(only="additive")
    assert standing(checked.scene).outdated == {} and not checked.bench.stale
    assert {item.part for item in checked.bench.findings} == {"CheekBark", "Barked"}
    assert {item.subject for item in checked.bench.findings if item.severity != "info"} == {checked.piece}
    bpy.ops.dryfit.check_fit(only="edge")
    assert {each.name for each in checked.bench.parts} == {"Head", "Barked"}
    checked.piece.data.vertices[5].co.y -= 0.001
    assert standing(checked.scene).outdated == dict.fromkeys(RUN, ("Barked (shape)",))


def test_a_new_part_under_an_old_name_is_another_part(checked):
    checked.piece.name = "Away"
    twin = sheet_on_sphere("CheekBark", 6, 0.1, lambda angle, turn: 0.004 + 0.0 * angle)
    twin["dryfit_role"] = "appliance"
    assert set(standing(checked.scene).outdated["edge"]) == {"Away (new)", "CheekBark (shape)"}


def test_checks_that_were_never_run_count_as_not_checked_and_are_named(checked):
    checked.bench.limits.additive_tolerance_mm = 5.0
    bpy.ops.dryfit.check_fit(only="additive")
    found = standing(checked.scene)
    assert set(found.unrun) == {check.id for check in CHECKS} - set(RUN) == set(unrun_checks(RUN))
    assert str(found.verdict) == "fail" or not found.fresh
    bpy.ops.dryfit.check_fit(only="edge")
    assert checked.bench.verdict == str(standing(checked.scene).verdict) == stored_report(checked.scene)["verdict"]


def test_one_check_alone_that_finds_nothing_is_no_pass_of_the_design(design):
    design.bench.limits.additive_tolerance_mm = 5.0
    bpy.ops.dryfit.check_fit(only="additive")
    assert design.bench.checks["additive"].status == "pass"
    assert design.bench.verdict == "not_checked" == json.loads(design.scene["dryfit_report"])["verdict"]
    assert str(standing(design.scene).verdict) == "not_checked" and standing(design.scene).fresh


def test_every_check_answered_and_holding_is_a_pass(design):
    """Only then: the stored report is made one in which every check passed, and it is one until something changes."""
    bpy.ops.dryfit.check_fit()
    report = json.loads(design.scene["dryfit_report"])
    for check in report["checks"]:
        check.update(status="pass", reason="", findings=[])
    design.scene["dryfit_report"] = json.dumps(report)
    look(design.scene, thoroughly=True)
    assert design.bench.verdict == "pass" == str(standing(design.scene).verdict)
    report["checks"].pop()
    design.scene["dryfit_report"] = json.dumps(report)
    look(design.scene, thoroughly=True)
    assert design.bench.verdict == "not_checked" == str(standing(design.scene).verdict)


def test_accepting_a_finding_makes_no_outdated_check_hold_again(checked):
    checked.piece.location.y = 0.001
    bpy.context.view_layer.update()
    checked.bench.picked = next(
        place for place, item in enumerate(checked.bench.findings) if item.check == "additive" and item.remedy == "lift"
    )
    bpy.ops.dryfit.accept_finding(reason="painted out in post")
    assert checked.bench.stale and checked.bench.checks["additive"].status == "not_checked"
    assert checked.bench.checks["additive"].outdated


def test_a_fix_outdates_the_checks_that_were_not_run_again(checked):
    checked.bench.picked = next(place for place, item in enumerate(checked.bench.findings) if item.remedy == "lift")
    assert bpy.ops.dryfit.mend_finding() == {"FINISHED"}
    found = standing(checked.scene)
    assert set(found.outdated) == {"edge"}
    assert checked.bench.checks["edge"].outdated and not checked.bench.checks["additive"].outdated


def test_saved_figures_say_what_no_longer_holds(checked, tmp_path):
    checked.piece.location.y = 0.001
    path = tmp_path / "report.json"
    bpy.ops.dryfit.save_figures(filepath=str(path))
    values = json.loads(path.read_text(encoding="utf8"))
    checks = {check["id"]: check for check in values["checks"]}
    assert values == figures_now(checked.scene) and values["verdict"] == "not_checked"
    assert {check["status"] for check in checks.values()} == {"not_checked"} and len(checks) == len(CHECKS)
    assert checks["edge"]["reason"].endswith("CheekBark (place)") and checks["edge"]["findings"]
    assert checks["load"]["reason"] == "It was not run"


def test_results_are_of_what_was_read_not_of_what_the_scene_became_while_it_was_measured(design):
    """A job steps beside the window: what is changed meanwhile by a script is a change since."""
    from types import SimpleNamespace

    from dryfit.model.progress import drain
    from dryfit.ui.fitting import DRYFIT_OT_check_fit
    from dryfit.ui.modal_job import RunsJob

    run = SimpleNamespace(only="additive", report=lambda *_: None, in_window=False)
    run.read = lambda context: RunsJob.read(run, context)
    work = DRYFIT_OT_check_fit.work(run, bpy.context)
    job = next(work).started()
    next(job)
    design.piece.location.y = 0.001
    with pytest.raises(StopIteration):
        work.send(drain(job))
    assert set(standing(design.scene).outdated) == {"additive"}
    assert design.bench.stale


def test_a_scene_that_was_never_measured_has_no_rows_and_costs_nothing(design):
    look(design.scene, thoroughly=True)
    assert design.bench.verdict == "" and not design.bench.stale and not len(design.bench.checks)
    assert standing(design.scene).outdated == {}


def test_a_fault_of_our_own_leaves_nothing_standing(checked, monkeypatch, capsys):
    def broken(*_):
        raise ZeroDivisionError

    monkeypatch.setattr("dryfit.sitting.freshness.reasons_now", broken)
    look(checked.scene)
    assert checked.bench.verdict == "not_checked"
    assert all("a fault in Dryfit" in row.reason for row in checked.bench.checks)
    assert "ZeroDivisionError" in capsys.readouterr().err


def test_only_what_was_touched_is_read_again(checked, monkeypatch):
    read = []
    reading = ShapePrints()
    plain = shape_prints._read
    monkeypatch.setattr(shape_prints, "_read", lambda item, weights: read.append(item.name) or plain(item, weights))
    first = design_prints(checked.scene, reading)
    assert sorted(read) == ["CheekBark", "Head"]
    assert design_prints(checked.scene, reading) == first and len(read) == 2
    checked.piece.data.vertices[5].co.y -= 0.001
    reading.touch(checked.piece)
    assert design_prints(checked.scene, reading) != first and read[2:] == ["CheekBark"]
    assert design_prints(checked.scene, reading) == design_prints(checked.scene)


def test_a_shared_mesh_is_read_again_for_all_that_share_it(checked):
    twin = bpy.data.objects.new("Twin", checked.piece.data)
    twin["dryfit_role"] = "hardware"
    checked.scene.collection.objects.link(twin)
    reading = ShapePrints()
    before = design_prints(checked.scene, reading)
    twin.data.vertices[5].co.y -= 0.001
    reading.touch(twin)
    after = design_prints(checked.scene, reading)
    assert before["CheekBark"] != after["CheekBark"] and before["Twin"] != after["Twin"]


def test_sculpting_on_levels_is_seen_though_nobody_can_read_it_meanwhile(design):
    """Multiresolution levels keep their shape apart: read when the tool lets go, unknown until then once touched."""
    piece = design.piece
    bpy.context.view_layer.objects.active = piece
    piece.modifiers.new("Levels", "MULTIRES")
    bpy.ops.object.multires_subdivide(modifier="Levels", mode="CATMULL_CLARK")
    bpy.ops.dryfit.check_fit(only="additive")
    assert standing(design.scene).fresh
    reshape_levels(design)
    assert standing(design.scene).outdated == {"additive": ("CheekBark (shape)",)} and design.bench.stale
    bpy.ops.object.mode_set(mode="SCULPT")
    bpy.ops.dryfit.check_fit(only="additive")
    assert piece.mode == "SCULPT" and not design.bench.stale
    bpy.context.view_layer.update()
    assert not design.bench.stale, "measured in Sculpt Mode, and going back to it is no change"
    shapes = ShapePrints()
    assert design_prints(design.scene, shapes)["CheekBark"].startswith(HELD)
    piece.data.update()
    bpy.context.view_layer.update()
    assert design.bench.checks["additive"].reason.endswith("CheekBark (being sculpted)")
    bpy.ops.object.mode_set(mode="OBJECT")
    bpy.context.view_layer.update()
    assert not design.bench.stale, "it was touched and not changed"


def reshape_levels(design):
    """Take the shape of a lifted copy on the levels, as a stroke does."""
    depsgraph = bpy.context.evaluated_depsgraph_get()
    mesh = bpy.data.meshes.new_from_object(design.piece.evaluated_get(depsgraph))
    other = bpy.data.objects.new("Lifted", mesh)
    design.scene.collection.objects.link(other)
    places = np.empty(len(mesh.vertices) * 3, np.float32)
    mesh.vertices.foreach_get("co", places)
    places.reshape(-1, 3)[:200, 1] -= 0.002
    mesh.vertices.foreach_set("co", places)
    mesh.update()
    other.select_set(True)
    design.piece.select_set(True)
    bpy.context.view_layer.objects.active = design.piece
    assert bpy.ops.object.multires_reshape(modifier="Levels") == {"FINISHED"}
    bpy.data.objects.remove(other)
    bpy.context.view_layer.update()


def test_a_timer_looks_when_the_hand_rests_and_not_while_it_moves(checked, monkeypatch):
    """The timer of a window, on a clock of our own: no look while strokes come, one when they stop, few without."""
    from dryfit.sitting import freshness

    clock, looks = [100.0], []
    monkeypatch.setattr(freshness.time, "monotonic", lambda: clock[0])
    monkeypatch.setattr(freshness, "look", lambda scene: looks.append(clock[0]))
    monkeypatch.setattr(freshness, "_clock", freshness._Clock(due=101.0))

    def wait(seconds):
        until = clock[0] + seconds
        while clock[0] < until:
            clock[0] += tick()

    wait(0.5)
    assert looks == [], "it is not time"
    for _ in range(10):
        freshness.note_touched([checked.piece])
        wait(0.1)
    assert looks == [], "the hand moves"
    wait(1.0)
    assert len(looks) == 1
    wait(10.0)
    assert 4 <= len(looks) <= 7, "now and then without a reason"
    before = len(looks)
    for _ in range(100):
        freshness.note_touched([checked.piece])
        wait(0.1)
    assert 5 <= len(looks) - before <= 7, "what never rests is looked at too"


def test_a_stroke_reads_nothing_and_a_look_the_touched_shape_once(scene, monkeypatch):
    """What runs with each stroke and what runs when the hand rests; ``bench.py live`` says how long that takes."""
    side = 50
    line = np.linspace(-0.05, 0.05, side)
    x, z = (grid.ravel() for grid in np.meshgrid(line, line, indexing="ij"))
    corner = np.arange(side * side).reshape(side, side)
    faces = np.stack([corner[:-1, :-1], corner[1:, :-1], corner[1:, 1:], corner[:-1, 1:]], -1).reshape(-1, 4)
    mesh = bpy.data.meshes.new("Bark")
    mesh.from_pydata(np.stack([x, 0 * x, z], 1).tolist(), [], faces.tolist())
    item = bpy.data.objects.new("Bark", mesh)
    item["dryfit_role"] = "appliance"
    item.vertex_groups.new(name="dryfit_lip_upper").add(list(range(0, side * side, 10)), 1.0, "REPLACE")
    scene.collection.objects.link(item)
    bpy.context.view_layer.objects.active = item
    bpy.ops.object.mode_set(mode="SCULPT")
    shapes = ShapePrints()
    before = design_prints(scene, shapes)
    read, looked = [], shape_prints._read
    monkeypatch.setattr(
        shape_prints, "_read", lambda item, weights: read.append((item.name, weights)) or looked(item, weights)
    )
    for number in range(5):
        mesh.vertices[number].co.y -= 0.001
        shapes.touch(item)
        assert read == []
        after = design_prints(scene, shapes)
        assert [name for name, _ in read] == ["Bark"], "no other shape, and this one once"
        assert read[0][1], "its weights, which no brush changes, are kept"
        assert after != before
        before = after
        design_prints(scene, shapes)
        assert len(read) == 1, "what nobody touched is not read again"
        read.clear()


def test_the_handlers_stand_once_and_go_with_the_extension(scene):
    for name, handler in HANDLERS:
        assert getattr(bpy.app.handlers, name).count(handler) == 1
