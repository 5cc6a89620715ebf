"""An errand in a process of its own: the same answer as at once, refusals in their own words, an end nobody waits for."""

import json
import time

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.model.errors import DryfitError  # noqa: E402
from dryfit.model.progress import Progress, drain  # noqa: E402
from dryfit.sitting.brief_beside import brief_beside  # noqa: E402
from dryfit.sitting.open_design import read_open_snapshot  # noqa: E402
from dryfit.ui import errands  # noqa: E402
from dryfit.ui.beside import Beside, InThread, RefusedBeside, begun  # noqa: E402
from dryfit.ui.errands import Errand  # noqa: E402

START = Progress(0, 1, "start")


def came_to(true):
    """Look until something is true, as the interface's timer does; what never comes is told after minutes."""
    until = time.monotonic() + 300.0
    while not true():
        assert time.monotonic() < until, "never came"
        time.sleep(0.01)


def ended(beside):
    """Wait for the thread that follows an errand."""
    came_to(lambda: beside.finished)
    return beside


def asked(only):
    return Errand(errands.check, (read_open_snapshot(bpy.context), brief_beside(), only))


def figures(report):
    values = json.loads(report.to_json())
    for check in values["checks"]:
        check["seconds"] = 0.0
    return values


def test_the_answer_is_the_one_that_is_had_at_once(design):
    errand = asked(["additive", "edge"])
    beside = ended(Beside(errand, START))
    answer, at_once = beside.answer(), drain(errand.started())
    assert figures(answer) == figures(at_once)
    assert type(answer) is type(at_once)
    for check, other in zip(answer.checks, at_once.checks, strict=True):
        assert [each.values.tobytes() for each in check.fields] == [each.values.tobytes() for each in other.fields]
    assert beside.step != START, "it told how far it was"


def test_what_is_refused_is_told_in_its_own_words(design):
    design.piece.data.clear_geometry()
    sheet = [(0.0, -0.11, 0.0), (0.001, -0.11, 0.0), (0.0, -0.11, 0.001)]
    design.piece.data.from_pydata([*sheet[:2], (float("nan"), 0.0, 0.0)], [], [(0, 1, 2)])
    bpy.context.view_layer.update()
    with pytest.raises(RefusedBeside, match="CheekBark"):
        ended(Beside(asked(["additive"]), START)).answer()


def test_it_ends_at_once_and_nobody_waits(design):
    beside = Beside(asked(None), START)
    came_to(lambda: beside.step != START)
    assert not beside.finished
    beside.stop()
    with pytest.raises(RefusedBeside, match="was stopped"):
        ended(beside).answer()


def test_landmarks_of_a_sphere_are_refused_beside(design):
    beside = ended(Beside(Errand(errands.propose, (read_open_snapshot(bpy.context),)), START))
    with pytest.raises(RefusedBeside):
        beside.answer()


def playing(motion):
    return Errand(errands.play, (read_open_snapshot(bpy.context), brief_beside(), motion), here=True)


def with_jaw(design):
    design.head.shape_key_add(name="Basis")
    for point in design.head.shape_key_add(name="JawOpen", from_mix=False).data:
        point.co.z -= 0.02
    bpy.ops.dryfit.add_motion(motion="jaw", key="JawOpen", start=0.0, end=1.0)


def test_what_cannot_leave_this_process_runs_in_a_thread_of_it(design):
    with_jaw(design)
    thread = ended(begun(playing("jaw"), START))
    assert isinstance(thread, InThread) and isinstance(begun(asked(["edge"]), START), Beside)
    playable, at_once = thread.answer(), drain(playing("jaw").started())
    assert thread.step != START, "it told how far it was"
    for part in playable.snapshot.parts:
        one, other = (each.poses.vertices(part.name, 0.4) for each in (playable, at_once))
        assert one.tobytes() == other.tobytes()


def test_a_motion_that_there_is_not_is_refused_in_a_thread_too(design):
    with pytest.raises(DryfitError, match="smile"):
        ended(begun(playing("smile"), START)).answer()


def test_a_thread_ends_at_its_next_step(design):
    steps = []

    def endless():
        while True:
            steps.append(len(steps))
            yield Progress(0, 1, str(len(steps)))
            time.sleep(0.001)

    thread = begun(Errand(endless, (), here=True), START)
    came_to(lambda: len(steps) > 2)
    thread.stop()
    ended(thread)
    done = len(steps)
    time.sleep(0.05)
    assert len(steps) == done and thread.answer() is None
