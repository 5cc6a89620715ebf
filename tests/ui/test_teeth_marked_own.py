"""The checkbox of teeth and eyes in the parts panel: whose they are, one undo step, nothing against the brief."""

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from test_brief_wins import drawn, saved  # noqa: E402

from bench_scene import sheet_on_sphere  # noqa: E402
from dryfit.scene.reading import read_snapshot  # noqa: E402
from dryfit.sitting.brief_beside import STATED  # noqa: E402
from dryfit.sitting.still_true.design_prints import design_prints  # noqa: E402
from dryfit.ui.parts import DRYFIT_PT_assigned  # noqa: E402


@pytest.fixture
def teeth(design):
    """The design with a row of teeth and a piece of hardware."""
    for name, role in (("Teeth", "upper_teeth"), ("Bolt", "hardware")):
        sheet_on_sphere(name, 6, 0.1, lambda angle, turn: 0.0 * angle)["dryfit_role"] = role
    return design


def checkbox():
    (button,) = drawn(DRYFIT_PT_assigned).named("dryfit.mark_own")
    return button


def own():
    return {part.name for part in read_snapshot(bpy.context).parts if part.own}


def test_only_teeth_and_eyes_have_one_and_it_says_what_it_would_do(teeth):
    assert (checkbox().part, checkbox().own) == ("Teeth", True)
    assert bpy.ops.dryfit.mark_own(part="Teeth", own=True) == {"FINISHED"}
    assert bpy.data.objects["Teeth"]["dryfit_own"]
    assert checkbox().own is False
    assert own() == {"Teeth"}
    assert bpy.ops.dryfit.mark_own(part="Teeth", own=False) == {"FINISHED"}
    assert "dryfit_own" not in bpy.data.objects["Teeth"]


def test_it_is_one_undo_step(teeth):
    bpy.ops.ed.undo_push(message="before")
    bpy.ops.dryfit.mark_own("EXEC_DEFAULT", True, part="Teeth", own=True)
    assert own() == {"Teeth"}
    bpy.ops.ed.undo()
    assert own() == set()


def test_what_was_measured_before_is_no_longer_true(teeth):
    before = design_prints(bpy.context.scene)
    bpy.ops.dryfit.mark_own(part="Teeth", own=True)
    after = design_prints(bpy.context.scene)
    assert {name for name in after if after[name] != before[name]} == {"Teeth"}


def test_hardware_is_refused_and_the_brief_goes_before_the_box(teeth, tmp_path):
    with pytest.raises(RuntimeError, match="no role of teeth or eyes"):
        bpy.ops.dryfit.mark_own(part="Bolt", own=True)
    saved(tmp_path, '[teeth]\nown = ["Teeth"]\n')
    assert not drawn(DRYFIT_PT_assigned).named("dryfit.mark_own")
    assert "Performer's own" in drawn(DRYFIT_PT_assigned).words
    with pytest.raises(RuntimeError, match=STATED.split(" ")[0]):
        bpy.ops.dryfit.mark_own(part="Teeth", own=False)
