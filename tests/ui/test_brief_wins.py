"""A brief.toml beside the open file counts in the sidebar as it does on the command line, and the panels say so."""

import json
from types import SimpleNamespace

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from bench_scene import LANDMARKS, sheet_on_sphere  # noqa: E402
from dryfit.cli import main  # noqa: E402
from dryfit.model.snapshot import LANDMARKS as ALL_LANDMARKS  # noqa: E402
from dryfit.sitting import live  # noqa: E402
from dryfit.sitting.brief_beside import STATED  # noqa: E402
from dryfit.sitting.landmarking.landmark_placing import missing_landmarks  # noqa: E402
from dryfit.sitting.materials_state import worn_parts  # noqa: E402
from dryfit.sitting.painting import part_objects  # noqa: E402
from dryfit.sitting.parts import listed_parts  # noqa: E402
from dryfit.sitting.posed_view import player, stop_playing  # noqa: E402
from dryfit.ui.landmarks import DRYFIT_PT_landmarks  # noqa: E402
from dryfit.ui.limits import DRYFIT_PT_limits  # noqa: E402
from dryfit.ui.materials import DRYFIT_PT_materials  # noqa: E402
from dryfit.ui.motions import DRYFIT_PT_motion_keys, scene_motions  # noqa: E402
from dryfit.ui.parts import DRYFIT_PT_assigned, DRYFIT_PT_parts  # noqa: E402
from dryfit.ui.performer import DRYFIT_PT_performer  # noqa: E402

ROLES = '[roles]\nbase = ["Head"]\nappliance = ["Brow*", "Cheek*"]\n'


class Panel:
    """Takes what a panel draws: every label, and every button with the properties that it was given."""

    def __init__(self):
        self.words, self.icons, self.buttons = [], [], []

    def label(self, text="", icon="NONE"):
        self.words.append(text)
        self.icons.append(icon)

    def operator(self, name, text="", **_):
        self.words.append(text)
        self.buttons.append((name, button := SimpleNamespace()))
        return button

    def panel(self, *_, **__):
        return self, self

    def operator_menu_enum(self, name, _property, **more):
        return self.operator(name, **more)

    def menu(self, _name, text="", **_):
        self.words.append(text)

    def prop(self, *_, **__):
        pass

    def row(self, *_, **__):
        return self

    column = split = box = row

    def named(self, name):
        return [given for button, given in self.buttons if button == name]


def drawn(panel, method="draw"):
    """What the panel draws in a wide sidebar: without a window Blender has neither a region nor a scale."""
    wide = SimpleNamespace(width=2000), SimpleNamespace(system=SimpleNamespace(ui_scale=1.0))
    context = SimpleNamespace(scene=bpy.context.scene, region=wide[0], preferences=wide[1])
    layout = Panel()
    getattr(panel, method)(SimpleNamespace(layout=layout), context)
    layout.text = " ".join(layout.words)
    return layout


@pytest.fixture
def bare(design):
    """The design without a single role of its own, and an object that plays none."""
    for item in (design.head, design.piece):
        del item["dryfit_role"]
    sheet_on_sphere("Lamp", 6, 0.1, lambda angle, turn: 0.0 * angle).display_type = "WIRE"
    return design


def saved(folder, brief):
    (folder / "brief.toml").write_text(brief)
    path = folder / "design.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    return path


def test_roles_of_the_brief_are_listed_and_the_panels_say_where_they_are_from(bare, tmp_path):
    assert "No base yet" in drawn(DRYFIT_PT_performer).text
    saved(tmp_path, ROLES)
    listed = [(part.item.name, str(part.role), part.briefed) for part in listed_parts(bpy.context.scene)]
    assert listed == [("Head", "base", True), ("CheekBark", "appliance", True)]
    performer = drawn(DRYFIT_PT_performer)
    assert "Head" in performer.words and "Roles from brief.toml" in performer.words
    assert "Nothing is worn yet" not in drawn(DRYFIT_PT_parts).text
    assert drawn(DRYFIT_PT_assigned, "draw_header_preset").words == ["2 objects"]
    assigned = drawn(DRYFIT_PT_assigned)
    assert {"Head", "CheekBark", "2 roles from brief.toml"} <= set(assigned.words) and "Lamp" not in assigned.words
    assert not assigned.named("dryfit.clear_role"), "nothing here takes away what the brief gives"
    assert [part.item.name for part in worn_parts(bpy.context.scene)] == ["CheekBark"]
    assert "CheekBark" in drawn(DRYFIT_PT_materials).words
    assert set(part_objects(bpy.context.scene)) == {"Head", "CheekBark"}


def test_an_object_s_own_role_stands_where_the_brief_says_nothing(design, tmp_path):
    saved(tmp_path, '[roles]\nhardware = ["Cheek*"]\n')
    listed = [(part.item.name, str(part.role), part.briefed) for part in listed_parts(bpy.context.scene)]
    assert listed == [("Head", "base", False), ("CheekBark", "hardware", True)]
    assert [button.part for button in drawn(DRYFIT_PT_assigned).named("dryfit.clear_role")] == ["Head"]


def test_what_the_sidebar_measures_and_locks_is_what_the_command_line_does(bare, tmp_path, capsys):
    path = saved(tmp_path, ROLES + "[limits]\nadditive_tolerance_mm = 0.7\n")
    assert bpy.ops.dryfit.lock_base() == {"FINISHED"}
    assert bpy.ops.dryfit.check_fit(only="base_lock,additive,edge,load") == {"FINISHED"}
    here = json.loads(bpy.context.scene["dryfit_report"])
    assert [part.name for part in bpy.context.scene.dryfit.parts] == ["CheekBark", "Head"]
    bpy.ops.wm.save_mainfile()
    capsys.readouterr()
    assert main(["check", str(path), "--only", "base_lock,additive,edge,load", "--json"]) == 1
    text = capsys.readouterr().out
    there = json.loads(text[text.index("{") :])
    for report in (here, there):
        for check in report["checks"]:
            del check["seconds"]
        assert report["base"]["lock"] == "held" and report["limits"]["additive_tolerance_mm"]["value"] == 0.7
    assert here["checks"] == there["checks"] and here["verdict"] == there["verdict"] == "fail"
    assert here["base"] == there["base"] and here["inputs"] == there["inputs"]


def test_strokes_are_followed_and_the_fix_measures_again_by_the_brief(bare, tmp_path):
    saved(tmp_path, ROLES)
    assert bpy.ops.dryfit.check_fit(only="additive") == {"FINISHED"}
    scene = bpy.context.scene
    assert bpy.ops.dryfit.follow_strokes() == {"FINISHED"}
    assert [piece.name for piece in live.watching().pieces] == ["CheekBark"]
    live.stop_live("")
    (scene.dryfit.picked,) = [place for place, each in enumerate(scene.dryfit.findings) if each.remedy == "lift"]
    assert bpy.ops.dryfit.mend_finding() == {"FINISHED"}
    assert scene.dryfit.checks["additive"].status == "pass"


def test_a_report_after_a_mend_says_as_before_which_figures_are_the_file_s_own(checked):
    checked.bench.limits.rim_thickness_mm = 0.4
    bpy.ops.dryfit.check_fit(only="additive")
    before = json.loads(checked.scene["dryfit_report"])["inputs"]["notes"]
    (checked.bench.picked,) = [place for place, each in enumerate(checked.bench.findings) if each.remedy == "lift"]
    assert bpy.ops.dryfit.mend_finding() == {"FINISHED"}
    after = json.loads(checked.scene["dryfit_report"])["inputs"]["notes"]
    assert before == after and any("rim_thickness_mm = 0.4" in note for note in before)


def test_a_motion_of_the_brief_plays_what_the_brief_names_and_cannot_be_changed_here(bare, tmp_path):
    bare.head.shape_key_add(name="Basis")
    bare.head.shape_key_add(name="JawOpen", from_mix=False)
    saved(tmp_path, ROLES + "[motions.jaw]\nkeys = { JawOpen = [0.0, 0.8] }\n")
    head = bpy.data.objects["Head"]
    assert dict(scene_motions(bpy.context.scene)["jaw"].keys) == {"JawOpen": (0.0, 0.8)}
    made_by = drawn(DRYFIT_PT_motion_keys)
    assert "Motions from brief.toml" in made_by.words and not made_by.named("dryfit.remove_motion")
    with pytest.raises(RuntimeError, match=r"brief\.toml beside the file states it"):
        bpy.ops.dryfit.add_motion(motion="jaw", key="JawOpen", start=0.0, end=1.0)
    assert "dryfit_motions" not in bpy.context.scene
    assert bpy.ops.dryfit.show_poses(motion="jaw") == {"FINISHED"}
    try:
        assert {part.name for part in player().snapshot.parts} == {"Head", "CheekBark"}
        assert head.hide_get() and not bpy.data.objects["Lamp"].hide_get()
    finally:
        stop_playing()
    assert not head.hide_get()


@pytest.mark.parametrize(("name", "role"), [("CheekBark", "hardware"), ("CheekBark", "none"), ("Lamp", "base")])
def test_no_role_is_stored_against_the_brief(bare, tmp_path, name, role):
    saved(tmp_path, ROLES)
    for item in bpy.context.view_layer.objects:
        item.select_set(item.name == name)
    bpy.context.view_layer.objects.active = bpy.data.objects[name]
    with pytest.raises(RuntimeError, match=r"brief\.toml beside the file states it"):
        bpy.ops.dryfit.assign_role(role=role)
    assert not any("dryfit_role" in item for item in bpy.data.objects)


def test_landmarks_of_the_brief_are_not_asked_for_and_cannot_be_moved_here(bare, tmp_path):
    stated = "pupil_left = [30.0, -90.0, 20.0]\ngnathion = [0.0, -80.0, -60.0]\n"
    saved(tmp_path, ROLES + "[landmarks]\n" + stated)
    missing = missing_landmarks(bpy.context.scene)
    assert set(missing) == {*ALL_LANDMARKS} - {*LANDMARKS, "pupil_left"}
    panel = drawn(DRYFIT_PT_landmarks)
    assert f"{len(LANDMARKS) + 1} of {len(ALL_LANDMARKS)} placed" in panel.words
    assert "2 of them from brief.toml" in panel.words
    offered = {given.landmark for given in panel.named("dryfit.place_landmark")}
    assert "tragion_left" in offered and not offered & {"pupil_left", "gnathion"}
    assert {given.landmark for given in panel.named("dryfit.remove_landmark")} == {*LANDMARKS} - {"gnathion"}


def test_a_brief_is_read_again_when_it_changed_and_its_fault_is_told(bare, tmp_path):
    saved(tmp_path, ROLES)
    brief = tmp_path / "brief.toml"
    brief.write_text(ROLES.replace("Cheek*", "Lamp"))
    assert [part.item.name for part in listed_parts(bpy.context.scene)] == ["Head", "Lamp"]
    brief.write_text("[rolls]\n")
    assert listed_parts(bpy.context.scene) == []
    assert "key 'rolls'" in drawn(DRYFIT_PT_performer).text
    assert "brief.toml cannot be read: defaults." in drawn(DRYFIT_PT_limits).words
    bpy.data.objects["Head"]["dryfit_role"] = "base"
    with pytest.raises(RuntimeError, match="key 'rolls'"):
        bpy.ops.dryfit.check_fit(only="additive")
    brief.unlink()
    assert "brief.toml" not in drawn(DRYFIT_PT_performer).text


def test_a_brief_that_gives_an_object_two_roles_is_told(bare, tmp_path):
    saved(tmp_path, ROLES.replace('"Cheek*"', '"CheekBar?"') + 'hardware = ["?heekBark"]\n')
    assert [part.item.name for part in listed_parts(bpy.context.scene)] == ["Head"]
    assert "'CheekBark' two roles, appliance and hardware" in drawn(DRYFIT_PT_performer).text


def test_a_base_in_another_file_is_named_instead_of_asked_for(bare, tmp_path):
    saved(tmp_path, '[base]\nfile = "performer.blend"\n[roles]\nappliance = ["Cheek*"]\n')
    assert "brief.toml names the base in performer.blend" in drawn(DRYFIT_PT_performer).text
    with pytest.raises(RuntimeError, match=r"performer\.blend: link or append it"):
        bpy.ops.dryfit.check_fit()


def test_the_words_for_what_the_brief_states_name_the_file():
    assert STATED.startswith("brief.toml")
