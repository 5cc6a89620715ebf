"""What keeps its answer in the file waits for the job that runs, and for a scene that is this file's own."""

from types import SimpleNamespace

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.ui import modal_job  # noqa: E402
from dryfit.ui.fitting import DRYFIT_OT_check_fit  # noqa: E402
from dryfit.ui.needing import KeepsAnswer, is_linked  # noqa: E402
from dryfit.ui.room import DRYFIT_OT_compute_room  # noqa: E402


@pytest.mark.parametrize("operator", ["check_fit", "compute_room"])
def test_nothing_else_is_measured_while_a_job_runs(design, operator):
    may_run = getattr(bpy.ops.dryfit, operator).poll
    assert may_run()
    modal_job.running.append(object())
    try:
        assert not may_run()
    finally:
        modal_job.running.clear()
    assert may_run()


@pytest.mark.parametrize("operator", [DRYFIT_OT_check_fit, DRYFIT_OT_compute_room])
def test_a_scene_of_another_file_keeps_no_answer_and_the_tooltip_says_so(operator):
    assert issubclass(operator, KeepsAnswer)
    said = []
    elsewhere = SimpleNamespace(library=object())
    asked = type("Asked", (KeepsAnswer,), {"poll_message_set": staticmethod(said.append)})
    assert not asked.poll(SimpleNamespace(scene=elsewhere))
    assert said == ["The scene is linked from another file"]
    assert not is_linked(asked, SimpleNamespace(library=None)) and len(said) == 1
