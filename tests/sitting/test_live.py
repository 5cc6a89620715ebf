"""Live: what follows a stroke is what the full check finds."""

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.sitting import live  # noqa: E402
from dryfit.sitting.live_values import live_values, live_words  # noqa: E402
from dryfit.sitting.painting import painted_now  # noqa: E402


@pytest.fixture
def followed(checked):
    assert bpy.ops.dryfit.follow_strokes() == {"FINISHED"}
    yield checked
    live.stop_live("")


def dent(piece, depth):
    """Push the middle of the piece in, as a brush would."""
    mesh = piece.data
    flat = np.empty(len(mesh.vertices) * 3, np.float32)
    mesh.vertices.foreach_get("co", flat)
    points = flat.reshape(-1, 3)
    push = depth * np.clip(1.0 - (points[:, 0] ** 2 + points[:, 2] ** 2) / 0.02**2, 0.0, None)
    points[:, 1] += push
    mesh.vertices.foreach_set("co", points.ravel())
    return int((push > 0).sum())


def test_only_what_moved_is_measured_again_and_agrees_with_the_check(followed):
    moved = dent(followed.piece, 0.001)
    live._tick()
    (piece,) = live.watching().pieces
    verdict = piece.following.verdict()
    values = live_values("CheekBark").values
    bpy.ops.dryfit.check_fit(only="additive")
    lift = [item for item in followed.bench.findings if item.remedy == "lift" and item.severity == "fail"]
    assert verdict.depth_mm == pytest.approx(lift[0].value, abs=0.05)
    assert np.nanmin(values) == pytest.approx(-verdict.depth_mm)
    assert 0 < moved < len(followed.piece.data.vertices)
    assert "Below the base: 3." in live_words()


def test_an_unchanged_piece_costs_no_query(followed):
    stamp = live_values("CheekBark").stamp
    live._tick()
    assert live_values("CheekBark").stamp == stamp


def test_a_moved_piece_is_measured_whole(followed):
    followed.piece.location.y += 0.001
    bpy.context.view_layer.update()
    live._tick()
    (piece,) = live.watching().pieces
    assert piece.following.verdict().depth_mm == pytest.approx(3.5, abs=0.1)


def test_a_mended_piece_is_still_followed(checked):
    checked.bench.picked = next(place for place, item in enumerate(checked.bench.findings) if item.remedy == "lift")
    bpy.ops.dryfit.mend_finding()
    bpy.ops.dryfit.follow_strokes()
    assert not live.watching().left_out
    checked.piece.data.shape_keys.key_blocks["dryfit lift 1"].value = 0.0
    bpy.context.view_layer.update()
    live._tick()
    assert live.watching().pieces[0].following.verdict().depth_mm == pytest.approx(2.5, abs=0.05)
    live.stop_live("")


def test_another_topology_switches_it_off_with_a_word(followed):
    bpy.context.view_layer.objects.active = followed.piece
    bpy.ops.object.mode_set(mode="EDIT")
    bpy.ops.mesh.select_all(action="SELECT")
    bpy.ops.mesh.subdivide()
    bpy.ops.object.mode_set(mode="OBJECT")
    live._tick()
    assert live.watching() is None
    assert "switched itself off" in live_words()
    assert live_values("CheekBark") is None


def test_too_slow_switches_it_off_with_a_word(followed, monkeypatch):
    monkeypatch.setattr(live, "SLOW_SECONDS", 0.0)
    for _ in range(live.PATIENCE):
        dent(followed.piece, 0.0001)
        live._tick()
    assert live.watching() is None
    assert "too slow" in live_words()


def test_opening_another_file_stops_it(followed, tmp_path):
    path = str(tmp_path / "design.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)
    bpy.ops.wm.open_mainfile(filepath=path)
    assert live.watching() is None
    assert not bpy.app.timers.is_registered(live._tick)


def test_strokes_are_painted_before_any_check(design):
    assert not len(design.bench.checks)
    assert bpy.ops.dryfit.follow_strokes() == {"FINISHED"}
    try:
        (painted,) = painted_now(design.scene)
        assert painted.item == design.piece and painted.live is not None and design.bench.paint
        assert np.nanmin(painted.values) == pytest.approx(-2.5, abs=0.1)
        dent(design.piece, 0.001)
        live._tick()
        (painted,) = painted_now(design.scene)
        assert np.nanmin(painted.values) == pytest.approx(-3.5, abs=0.1)
    finally:
        live.stop_live("")
    assert painted_now(design.scene) == []
