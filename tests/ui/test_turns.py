"""Long work in turns: the scene is the user's own between them, what changed is read again, what is stopped is put right."""

from types import SimpleNamespace

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from bench_scene import findings  # noqa: E402
from dryfit.model.brief import Brief  # noqa: E402
from dryfit.model.progress import Progress, drain  # noqa: E402
from dryfit.scene import lending  # noqa: E402
from dryfit.scene.reading import read_snapshot, snapshot_in_turns  # noqa: E402
from dryfit.sitting.still_true import design_reading  # noqa: E402
from dryfit.sitting.still_true.design_reading import design_in_turns, read_design  # noqa: E402
from dryfit.ui.errands import Errand  # noqa: E402
from dryfit.ui.mending import DRYFIT_OT_mend_finding  # noqa: E402
from dryfit.ui.modal_job import RunsJob, done_at_once  # noqa: E402


@pytest.fixture
def jawed(design):
    """The design with a jaw that bends, so that poses are read one after the other."""
    design.head.shape_key_add(name="Basis")
    key = design.head.shape_key_add(name="JawOpen", from_mix=False)
    for point in key.data[:400]:
        point.co.z -= 0.01
    key.value = 0.3
    design.scene["dryfit_motions"] = '{"jaw": {"keys": {"JawOpen": [0.0, 1.0]}}}'
    bpy.context.view_layer.update()
    return design


@pytest.fixture(autouse=True)
def turns_of_one_step(monkeypatch):
    monkeypatch.setattr(design_reading, "TURN_SECONDS", 0.0)
    monkeypatch.setattr(lending, "SHARE", 0.0)


def same(first, second):
    assert [part.name for part in first.parts] == [part.name for part in second.parts]
    for one, other in zip(first.parts, second.parts, strict=True):
        assert one.vertices_mm.tobytes() == other.vertices_mm.tobytes()
        assert one.faces.tobytes() == other.faces.tobytes()
    assert first.motions.keys() == second.motions.keys()
    for name, motion in first.motions.items():
        other = second.motions[name]
        assert motion.frames_t.tolist() == other.frames_t.tolist()
        assert {part: frames.tobytes() for part, frames in motion.frames_mm.items()} == {
            part: frames.tobytes() for part, frames in other.frames_mm.items()
        }
    assert first.notes == second.notes and first.landmarks.keys() == second.landmarks.keys()


def test_between_turns_the_scene_is_the_users_own(jawed):
    key = jawed.head.data.shape_keys.key_blocks["JawOpen"]
    at_once, turns = read_snapshot(bpy.context), 0
    job = snapshot_in_turns(bpy.context, turn_seconds=0.0)
    while True:
        try:
            next(job)
        except StopIteration as finished:
            same(finished.value, at_once)
            break
        turns += 1
        assert [scene.name for scene in bpy.data.scenes] == ["Scene"]
        assert key.value == pytest.approx(0.3) and key.slider_max == 1.0 and not key.mute
    assert turns > 6
    assert at_once.motions["jaw"].frames_mm.keys() == {"Head"}


def test_a_reading_that_is_stopped_leaves_the_scene_alone(jawed):
    job = snapshot_in_turns(bpy.context, turn_seconds=0.0)
    for _ in range(4):
        next(job)
    job.close()
    assert [scene.name for scene in bpy.data.scenes] == ["Scene"]
    assert jawed.head.data.shape_keys.key_blocks["JawOpen"].value == pytest.approx(0.3)


def move(design):
    design.piece.location.y += 0.002


def rename(design):
    design.piece.name = "Another"


def remove(design):
    bpy.data.objects.remove(design.piece)


def sculpt(design):
    design.piece.data.vertices[0].co.y -= 0.003
    design.piece.data.update()


def other_frame(design):
    design.scene.frame_set(7)


@pytest.mark.parametrize("change", [move, rename, remove, sculpt, other_frame])
@pytest.mark.parametrize("turn", [1, 5])
def test_what_changes_between_turns_is_read_again(jawed, change, turn):
    job = design_in_turns(bpy.context)
    for _ in range(turn):
        next(job)
    change(jawed)
    bpy.context.view_layer.update()
    read, now = drain(job), read_design(bpy.context)
    same(read.snapshot, now.snapshot)
    assert dict(read.prints) == dict(now.prints)


def test_without_motions_nothing_is_posed(jawed):
    assert drain(snapshot_in_turns(bpy.context, Brief(), moving=False)).motions == {}


def mending(**given):
    run = SimpleNamespace(remedy="", everywhere=False, in_window=False, said=[], **given)
    run.report = lambda kind, words: run.said.append(words)
    run.read = lambda context: RunsJob.read(run, context)
    return run, DRYFIT_OT_mend_finding.work(run, bpy.context)


def shape(piece):
    flat = np.empty(len(piece.data.vertices) * 3, np.float32)
    piece.data.vertices.foreach_get("co", flat)
    return flat.tobytes()


@pytest.mark.parametrize("with_keys", [False, True])
def test_a_fix_that_is_stopped_leaves_nothing_behind(checked, with_keys):
    if with_keys:
        checked.piece.shape_key_add(name="Basis")
        checked.piece.shape_key_add(name="Wrinkle").value = 0.5
    before, kept = shape(checked.piece), checked.scene["dryfit_report"]
    (checked.bench.picked,) = findings(checked.bench, "lift")
    _, work = mending()
    errand = next(work)
    assert isinstance(errand, Errand)
    again = work.send(drain(errand.started()))
    assert isinstance(again, Errand), "the fix is on, and is measured"
    assert "dryfit lift 1" in checked.piece.data.shape_keys.key_blocks
    work.close()
    keys = checked.piece.data.shape_keys
    assert (list(keys.key_blocks.keys()) if keys else []) == (["Basis", "Wrinkle"] if with_keys else [])
    assert shape(checked.piece) == before and checked.scene["dryfit_report"] == kept
    assert findings(checked.bench, "lift"), "still listed"


def test_a_check_that_refuses_a_mended_piece_takes_the_fix_back(checked):
    (checked.bench.picked,) = findings(checked.bench, "lift")
    _, work = mending()
    work.send(drain(next(work).started()))
    with pytest.raises(ZeroDivisionError):
        work.throw(ZeroDivisionError())
    assert checked.piece.data.shape_keys is None


def test_work_that_is_done_at_once_gets_its_answers():
    def count(to):
        for step in range(to):
            yield Progress(step, to, "counting")
        return to

    def work():
        yield Progress(0, 1, "before")
        first = yield Errand(count, (3,))
        second = yield Errand(count, (4,))
        return {str(first + second)}

    assert done_at_once(work()) == {"7"}
