"""Roles and landmarks: stored on objects, overridden by the brief."""

import json
from dataclasses import asdict

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
import dryfit  # noqa: E402
from dryfit.checks.runner import run_fitting  # noqa: E402
from dryfit.model.brief_reading import parse_brief  # noqa: E402
from dryfit.model.exceptions import WrittenException  # noqa: E402
from dryfit.model.finding import Severity, Status  # noqa: E402
from dryfit.model.fingerprint import fingerprint  # noqa: E402
from dryfit.model.progress import drain  # noqa: E402
from dryfit.performer.tried_on import design_of  # noqa: E402
from dryfit.scene.errors import BadStoredValue, TwoLandmarks, TwoRoles, UnknownRole  # noqa: E402
from dryfit.scene.locking import store_lock  # noqa: E402
from dryfit.scene.reading import read_file, read_snapshot  # noqa: E402


def roles(brief=""):
    return {part.name: str(part.role) for part in read_snapshot(bpy.context, parse_brief(brief)).parts}


def test_roles_come_from_properties_and_the_brief_overrides_them(build):
    build.sphere("Head", "base")
    build.box("BrowLeft", "hardware")
    build.box("BrowRight", None)
    build.box("Lamp", None)
    assert roles() == {"Head": "base", "BrowLeft": "hardware"}
    assert roles('[roles]\nappliance = ["Brow*"]') == {
        "Head": "base", "BrowLeft": "appliance", "BrowRight": "appliance"
    }  # fmt: skip


def test_ignored_objects_are_left_out(build):
    build.sphere()
    build.box("Old", "ignore")
    build.box("Older", "appliance")
    assert roles('[roles]\nignore = ["Older"]') == {"Head": "base"}


def test_the_most_exact_pattern_wins(build):
    build.sphere("Head", None)
    build.box("TeethUpper", None)
    build.box("Cheek", None)
    brief = '[roles]\nappliance = ["*"]\nbase = ["Head"]\nupper_teeth = ["Teeth*"]'
    assert roles(brief) == {"Head": "base", "TeethUpper": "upper_teeth", "Cheek": "appliance"}


def test_wildcards_meet_only_objects_that_have_a_surface(build):
    build.box("Cheek", None)
    build.empty("Cheekbone")
    build.camera("CheekCam", (0, 0, 0))
    assert roles('[roles]\nappliance = ["Cheek*"]') == {"Cheek": "appliance"}


def test_two_equally_exact_patterns_are_an_error(build):
    build.box("BrowLens", None)
    with pytest.raises(TwoRoles, match=r"'BrowLens' two roles, appliance and hardware"):
        roles('[roles]\nappliance = ["Brow*"]\nhardware = ["*Lens"]')


def test_an_unknown_role_names_the_nearest(build):
    build.box("Brow", "aplliance")
    with pytest.raises(UnknownRole, match=r"'Brow'.*'aplliance'.*Did you mean 'appliance'"):
        roles()


def test_a_pattern_that_matches_nothing_is_said(build):
    build.sphere()
    build.box("Worn")
    notes, _ = judged('[roles]\nappliance = ["Brow*", "Worn"]')
    assert any("[roles] appliance: 'Brow*' matches no object" in note for note in notes)


def judged(text):
    """The notes of a report, and the one finding of its check, or None."""
    brief = parse_brief(text)
    report = drain(run_fitting(design_of(read_snapshot(bpy.context, brief), brief).fitting, ("release",)))
    (check,) = report.checks
    reviews = [each for each in check.findings if each.severity is Severity.REVIEW and "[roles]" in each.message]
    assert (check.status == Status.PASS) == (not reviews), check.reason
    return report.inputs["notes"], reviews[0] if reviews else None


def worn_box(build, role="appliance"):
    build.sphere()
    piece = build.box("Worn", role)
    piece.location, piece["dryfit_material"] = (0.0, -0.12, 0.0), "silicone"
    return piece


@pytest.mark.parametrize(
    ("roles", "said"),
    [
        ('appliance = ["Worn", "Brow"]', "'Brow' matches no object. "),
        ('appliance = ["Worn"]\nlower_teeth = ["Wornn"]', "'Wornn' matches no object (nearest: 'Worn'). "),
        ('base = ["Haed"]', "base: 'Haed' matches no object (nearest: 'Head'). "),
        (
            'appliance = ["Chek*", "Brow*"]',
            "'Chek*' matches no object. This answer is without it. 1 more entry matches",
        ),
        ('appliance = ["Worn", "Brow*"]', ""),
        ('hardware = ["Bronze*"]', ""),
        ('ignore = ["Old"]', ""),
    ],
)
def test_no_design_passes_without_what_its_brief_names(build, roles, said):
    """A name promises an object; a pattern only where what objects carry was played in its place."""
    worn_box(build)
    notes, finding = judged(f"[roles]\n{roles}\n")
    assert any("matches no object" in note for note in notes)
    assert (finding is not None) == bool(said)
    if finding is not None:
        assert said in finding.message and "write a pattern with *" in finding.fix


def test_what_is_shown_by_instances_and_hair_counts_as_matched(build):
    piece = worn_box(build, None)
    held = bpy.data.collections.new("Held")
    bpy.context.scene.collection.objects.unlink(piece)
    held.objects.link(piece)
    shown = build.empty("Shown")
    shown.instance_type, shown.instance_collection = "COLLECTION", held
    piece.modifiers.new("fur", "PARTICLE_SYSTEM")
    piece.particle_systems[0].name = "Fur"
    brief = parse_brief('[roles]\nappliance = ["Worn"]\nhardware = ["Shown"]\nignore = ["Fur"]')
    assert not read_snapshot(bpy.context, brief).unmatched


def test_the_performers_own_parts_may_be_with_the_base_alone(build, tmp_path):
    build.sphere()
    build.box("TeethLower", None)
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "performer.blend"))
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    build.box("Worn")
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "piece.blend"))
    roles = (
        '[roles]\nbase = ["Head"]\nlower_teeth = ["TeethLower"]\nupper_teeth = ["TeethUpper"]\nhardware = ["Horn"]\n'
    )
    brief = parse_brief('[base]\nfile = "performer.blend"\n' + roles, str(tmp_path / "brief.toml"))
    snapshot = read_file(tmp_path / "piece.blend", brief)
    assert {each.entry for each in snapshot.unmatched} == {"TeethUpper", "Horn"}
    kept = dryfit.load_snapshot(dryfit.save_snapshot(snapshot, tmp_path / "piece.npz"))
    assert kept.unmatched == snapshot.unmatched


def test_landmarks_follow_parents_and_the_brief_overrides_them(build):
    head = build.sphere()
    head.location = (0.0, 0.0, 0.5)
    for name, place in (("subnasale", (0, -0.1, 0)), ("gnathion", (0, -0.09, -0.05))):
        build.empty(name, name, place).parent = head
    brief = parse_brief("[landmarks]\ngnathion = [1.0, 2.0, 3.0]")
    points = read_snapshot(bpy.context, brief).landmarks
    np.testing.assert_allclose(points["subnasale"], [0.0, -100.0, 500.0], atol=1e-4)
    np.testing.assert_allclose(points["gnathion"], [1.0, 2.0, 3.0])


def test_a_landmark_that_nobody_confirmed_says_so_unless_the_brief_states_it(build):
    build.sphere()
    for name, error in (("subnasale", 2.5), ("gnathion", 4), ("sellion", "far"), ("pronasale", -1.0)):
        build.empty(name, name)["dryfit_landmark_proposed"] = error
    build.empty("tragion", "tragion_left")
    read = read_snapshot(bpy.context).proposed
    assert dict(read) == {"subnasale": 2.5, "gnathion": 4.0, "sellion": np.inf, "pronasale": np.inf}
    brief = parse_brief(
        "[landmarks]\ngnathion = [1.0, 2.0, 3.0]\nsubnasale = [1.0, 2.0, 9.0]\nproposed_mm = { subnasale = 3.0 }"
    )
    read = read_snapshot(bpy.context, brief).proposed
    assert dict(read) == {"subnasale": 3.0, "sellion": np.inf, "pronasale": np.inf}


def test_two_marks_for_one_landmark_are_an_error(build):
    build.empty("Chin", "gnathion")
    build.empty("Chin again", "gnathion")
    with pytest.raises(TwoLandmarks, match=r"2 objects mark 'gnathion' \(Chin, Chin again\)"):
        roles()


def test_an_unknown_landmark_is_said_with_the_nearest(build):
    build.sphere()
    build.empty("Nose", "pronasal")
    notes = read_snapshot(bpy.context).notes
    assert any("'pronasal'" in note and "'pronasale'" in note for note in notes)


def test_exceptions_come_from_the_scene(scene, build):
    build.sphere()
    kept = WrittenException("additive", "Cheek", "left cheek", "digital zone", "S.")
    scene["dryfit_exceptions"] = json.dumps([asdict(kept)])
    (exception,) = read_snapshot(bpy.context).exceptions
    assert (exception.check, exception.region, exception.reason) == (
        "additive",
        "left cheek",
        "digital zone",
    )


@pytest.mark.parametrize(
    "text", ["[{", '[{"check": "edge"}]', '[{"check": "edge", "reason": "x", "colour": "red"}]', "3", "[3]"]
)
def test_damaged_exceptions_are_an_error_that_names_the_property(scene, build, text):
    build.sphere()
    scene["dryfit_exceptions"] = text
    with pytest.raises(BadStoredValue, match="dryfit_exceptions"):
        read_snapshot(bpy.context)


def own(brief=""):
    """Names of the parts that are the performer's own."""
    return {part.name for part in read_snapshot(bpy.context, parse_brief(brief)).parts if part.own}


def test_own_teeth_and_eyes_come_from_properties_and_the_brief_overrides_them(build):
    build.sphere("Head", "base")
    for name, role in (("TeethUpper", "upper_teeth"), ("TeethLower", "lower_teeth"), ("Eye", "eye_left")):
        build.box(name, role)
    bolt = build.box("Bolt", "hardware")
    for name in ("TeethUpper", "Bolt"):
        bpy.data.objects[name]["dryfit_own"] = True
    assert bolt is None or bolt["dryfit_own"]
    assert own() == {"TeethUpper"}, "a bolt is nobody's own"
    assert own('[teeth]\nown = ["TeethLower", "Eye*"]') == {"TeethLower", "Eye"}
    assert own("[teeth]\nown = []") == set()
    notes = read_snapshot(bpy.context, parse_brief('[teeth]\nown = ["Fang*"]')).notes
    assert any("[teeth] own: 'Fang*' matches no object" in note for note in notes)


def performer_in_a_collection(build):
    """A head with a lip, a lock and two landmarks, seen as an instance 300 mm up and nowhere else."""
    head = build.sphere()
    head.vertex_groups.new(name="dryfit_lip_upper").add([0, 1, 2], 1.0, "REPLACE")
    marks = [build.empty("nose", "subnasale", (0.0, -0.1, 0.0)), build.empty("chin", "gnathion", (0.0, -0.09, -0.05))]
    marks[0]["dryfit_landmark_proposed"] = 2.5
    held = bpy.data.collections.new("Performer")
    for item in (head, *marks):
        bpy.context.scene.collection.objects.unlink(item)
        held.objects.link(item)
    shown = build.empty("Stand-in", location=(0.0, 0.0, 0.3))
    shown.instance_type, shown.instance_collection = "COLLECTION", held
    return head, marks, shown


def test_landmarks_areas_and_lock_within_an_instance_are_found(build):
    head, _, shown = performer_in_a_collection(build)
    build.box("Worn").location = (0.0, -0.12, 0.3)
    before = read_snapshot(bpy.context)
    np.testing.assert_allclose(before.landmarks["subnasale"], [0.0, -100.0, 300.0], atol=1e-3)
    np.testing.assert_allclose(before.landmarks["gnathion"], [0.0, -90.0, 250.0], atol=1e-3)
    assert before.proposed == {"subnasale": 2.5}
    base = before.base
    assert base.name == "Head in Stand-in"
    np.testing.assert_array_equal(np.flatnonzero(base.areas["dryfit_lip_upper"]), [0, 1, 2])
    store_lock(head, base)
    assert read_snapshot(bpy.context).lock.fingerprint == fingerprint(base.vertices_mm, base.faces)
    build.empty("my own", "subnasale", (0.0, -0.1, 0.31))
    own = read_snapshot(bpy.context)
    np.testing.assert_allclose(own.landmarks["subnasale"], [0.0, -100.0, 310.0], atol=1e-3)
    assert own.proposed == {}
    shown["dryfit_role"] = "ignore"
    assert {*read_snapshot(bpy.context).landmarks} == {"subnasale"}


def test_a_landmark_at_two_places_within_instances_is_an_error_and_a_hidden_one_is_told(build):
    _, marks, shown = performer_in_a_collection(build)
    marks[1].hide_viewport = True
    (note,) = [note for note in read_snapshot(bpy.context).notes if "Landmarks hidden" in note]
    assert note == "Landmarks hidden within instances, so not read: gnathion ('chin' in 'Stand-in')."
    other = build.empty("Other", location=(0.5, 0.0, 0.3))
    other.instance_type, other.instance_collection = "COLLECTION", shown.instance_collection
    with pytest.raises(TwoLandmarks, match=r"nose in Stand-in, nose in Other|nose in Other, nose in Stand-in"):
        read_snapshot(bpy.context)


def test_a_piece_that_is_hidden_within_an_instance_is_told(build):
    head, _, _ = performer_in_a_collection(build)
    piece = build.box("Cheek")
    bpy.context.scene.collection.objects.unlink(piece)
    head.users_collection[0].objects.link(piece)
    assert "Cheek in Stand-in" in roles()
    piece.hide_viewport = True
    notes = read_snapshot(bpy.context).notes
    assert "Hidden within instances, so not measured: Cheek in Stand-in." in notes
