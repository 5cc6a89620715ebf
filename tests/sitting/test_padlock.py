"""The padlock says how far the base drifted from its lock, before any check and without one."""

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.sitting.freshness import look_at_lock  # noqa: E402
from dryfit.sitting.padlock import lock_words  # noqa: E402


@pytest.fixture
def locked(design):
    bpy.ops.dryfit.lock_base()
    return design


def words(design):
    bpy.context.view_layer.update()
    look_at_lock(design.scene)
    return lock_words(design.head)


def move(design, millimetres, count=40):
    for vertex in design.head.data.vertices[:count]:
        vertex.co.y -= millimetres / 1000
    design.head.data.update()


def test_a_base_that_was_just_locked_is_unchanged(locked):
    assert (words(locked).drifted, words(locked).words) == (False, "Locked and unchanged")


def test_drift_is_told_in_mm_before_any_check(locked):
    move(locked, 2.0)
    assert not len(locked.bench.checks)
    assert (words(locked).drifted, words(locked).words) == (True, "Moved by 2.00 mm since it was locked")
    move(locked, -2.0)
    assert not words(locked).drifted, "taken back"


def test_a_base_that_was_moved_as_a_whole_drifted_too(locked):
    locked.head.location.x = 0.001
    assert words(locked).words == "Moved by 1.00 mm since it was locked"


def test_drift_below_the_limit_is_told_as_such(locked):
    move(locked, 0.02)
    assert words(locked).words == "Another mesh than the locked one, within 0.020 mm of it"


def test_a_lock_that_cannot_be_read_is_no_closed_padlock(locked):
    locked.head["dryfit_lock_vertices"] = b"nothing"
    locked.head["dryfit_lock_fingerprint"] = "0" * 12
    assert words(locked).drifted and "cannot be compared" in words(locked).words


def test_nothing_is_read_while_a_tool_holds_something(locked):
    assert not words(locked).drifted
    bpy.context.view_layer.objects.active = locked.piece
    bpy.ops.object.mode_set(mode="SCULPT")
    move(locked, 2.0)
    assert not words(locked).drifted and locked.piece.mode == "SCULPT"
    bpy.ops.object.mode_set(mode="OBJECT")
    assert words(locked).drifted, "as soon as the tool is put down"


def test_a_base_that_is_the_same_is_compared_once(locked, monkeypatch):
    words(locked)
    monkeypatch.setattr("dryfit.sitting.base_drift.base_at_rest", lambda *_: pytest.fail("read again"))
    words(locked)


def test_show_me_goes_to_what_moved(locked):
    move(locked, 2.0)
    assert bpy.ops.dryfit.show_drift() == {"FINISHED"}
    picked = locked.bench.findings[locked.bench.picked]
    assert picked.check == "base_lock" and picked.value == pytest.approx(2.0, abs=0.01)
    assert locked.bench.paint and locked.bench.painted == "moved", "and it is painted"
