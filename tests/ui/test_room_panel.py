"""The room's operators: measured, painted, ended by Esc, and refused with a word."""

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.model.errors import InputError  # noqa: E402
from dryfit.model.progress import Progress  # noqa: E402
from dryfit.sitting import live  # noqa: E402
from dryfit.sitting.painting import painted_now  # noqa: E402
from dryfit.sitting.room.kept_room import kept_room, room_of, standing_cage  # noqa: E402
from dryfit.ui import errands, modal_job  # noqa: E402
from dryfit.ui.beside import Beside  # noqa: E402
from dryfit.ui.room import DRYFIT_PT_room_regions  # noqa: E402
from given_room import keep_given_room  # noqa: E402


def test_the_open_scene_is_measured_and_said(design):
    assert bpy.ops.dryfit.compute_room() == {"FINISHED"}
    kept = kept_room(design.scene)
    assert kept["room"]["skin"]["vertices"] == len(design.head.data.vertices) == len(room_of(design.scene))
    assert "nose tip: not known" in kept["sentences"]["regions"], "what lacks landmarks is not known, never free"
    assert kept["sentences"]["weight"][0].startswith("Not known: CheekBark has no material")
    assert design.bench.room_on and design.bench.paint and design.bench.painted == "room"
    assert not standing_cage(design.scene).data.polygons, "nothing is known, so no cage stands"
    assert DRYFIT_PT_room_regions.poll(bpy.context)


def test_what_is_refused_leaves_the_earlier_room(design, monkeypatch):
    keep_given_room(bpy.context)
    before = design.scene["dryfit_room"]

    def refused(snapshot, brief):
        yield Progress(0, 1, "the skin")
        raise InputError("the head has no skin")

    monkeypatch.setattr(errands, "room", refused)
    with pytest.raises(RuntimeError, match="no skin"):
        bpy.ops.dryfit.compute_room()
    assert design.scene["dryfit_room"] == before


def test_esc_leaves_the_earlier_room(design):
    """The work is closed where it waits for its errand, as Esc closes it."""
    keep_given_room(bpy.context)
    before = design.scene["dryfit_room"]
    from types import SimpleNamespace

    from dryfit.ui.room import DRYFIT_OT_compute_room

    asked = SimpleNamespace(in_window=False, report=None)
    asked.read = lambda context, moving=True: modal_job.RunsJob.read(asked, context, moving)
    work = DRYFIT_OT_compute_room.work(asked, bpy.context)
    assert next(work).job is errands.room
    work.close()
    assert design.scene["dryfit_room"] == before


def test_it_is_measured_in_a_process_of_its_own(design):
    from dryfit.sitting.still_true.design_reading import read_design

    read = read_design(bpy.context)
    beside = Beside(errands.Errand(errands.room, (read.snapshot, read.brief)), Progress(0, 1, ""))
    try:
        labels = set()
        while not beside.finished:
            labels.add(beside.step.label)
        room, values, sentences = beside.answer()
    finally:
        beside.stop()
    assert values["schema"] == "dryfit.room/1" and len(room.room_mm) == len(design.head.data.vertices)
    assert sentences["regions"] and any("lids" in label or "nostrils" in label for label in labels)


def test_without_a_base_it_is_refused_with_a_word(scene):
    assert not bpy.ops.dryfit.compute_room.poll() and not bpy.ops.dryfit.paint_room.poll()
    with pytest.raises(RuntimeError, match="Base"):
        bpy.ops.dryfit.compute_room()


def test_the_switches_paint_and_stop_painting(design):
    keep_given_room(bpy.context)
    for value in ("room", "room_stops"):
        assert bpy.ops.dryfit.paint_room(value=value) == {"FINISHED"}
        assert design.bench.painted == value and design.bench.paint
    bpy.ops.dryfit.paint_room(value="room_stops")
    assert not design.bench.paint


def test_room_left_follows_strokes_by_itself(design):
    keep_given_room(bpy.context)
    try:
        assert bpy.ops.dryfit.paint_room(value="room_left") == {"FINISHED"}
        live._tick()
        (painted,) = painted_now(design.scene)
        assert painted.item == design.piece
    finally:
        live.stop_live("")


def test_values_of_the_room_can_be_written_to_stay(checked):
    keep_given_room(bpy.context)
    assert bpy.ops.dryfit.write_attributes() == {"FINISHED"}
    assert any(each.name.startswith("dryfit_room") for each in checked.head.data.attributes)
