"""Rows freshen by themselves once the hand rests: the figures of a whole check, and nothing taken out of the hand."""

import json
import time

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.model.progress import drain  # noqa: E402
from dryfit.scene.meshes import triangles  # noqa: E402
from dryfit.sitting.brief_beside import brief_beside  # noqa: E402
from dryfit.sitting.open_design import read_open_snapshot  # noqa: E402
from dryfit.sitting.still_true.stroked import split  # noqa: E402
from dryfit.sitting.stored_report import stored_report  # noqa: E402
from dryfit.ui import errands, freshening, modal_job  # noqa: E402

CHECKS = ["additive", "edge"]


@pytest.fixture
def fresh(checked, monkeypatch):
    """The design, measured, its rows to be kept fresh without any wait."""
    monkeypatch.setattr(freshening, "REST_SECONDS", 0.0)
    checked.bench.keep_fresh = True
    yield checked
    freshening.stop()


def in_triangles(item):
    bpy.context.view_layer.objects.active = item
    mesh = item.data
    mesh.calc_loop_triangles()
    points = [tuple(vertex.co) for vertex in mesh.vertices]
    faces = [tuple(each.vertices) for each in mesh.loop_triangles]
    mesh.clear_geometry()
    mesh.from_pydata(points, [], faces)
    bpy.context.view_layer.update()


def stroke(item, count=60, by=0.0007):
    """Move some vertices as a brush does, outward from the middle of the sphere."""
    flat = np.empty(3 * len(item.data.vertices), np.float32)
    position = item.data.attributes["position"].data
    position.foreach_get("vector", flat)
    points = flat.reshape(-1, 3)
    points[1 : 1 + count] *= np.float32(1.0 + by / 0.1)
    position.foreach_set("vector", points.ravel())
    item.data.update()
    bpy.context.view_layer.update()


def outdated():
    return [row.name for row in bpy.context.scene.dryfit.checks if row.outdated]


def freshened(turns=30000):
    """Take turns until the rows hold."""
    until = time.monotonic() + 300.0
    while outdated() and time.monotonic() < until:
        freshening.turn(bpy.context)
        time.sleep(0.005)
    assert not outdated()


def stored():
    return without_seconds(stored_report(bpy.context.scene)["checks"])


def measured_anew():
    errand = errands.check(read_open_snapshot(bpy.context), brief_beside(), CHECKS)
    return without_seconds(json.loads(drain(errand).to_json())["checks"])


def without_seconds(checks):
    return [{**check, "seconds": 0.0} for check in checks if check["id"] in CHECKS]


def test_what_was_moved_in_object_mode_is_measured_again(fresh):
    before = stored()
    stroke(fresh.piece)
    assert outdated() == CHECKS
    freshened()
    assert stored() != before
    assert stored() == measured_anew()


@pytest.mark.parametrize("made_of", ["triangles", "quads", "quads, mirrored"])
def test_a_stroke_is_measured_while_the_piece_stays_in_the_hand(fresh, made_of):
    if made_of == "triangles":
        in_triangles(fresh.piece)
    else:
        stroke(fresh.piece, by=0.0003)
    if "mirrored" in made_of:
        fresh.piece.scale.x = -1.0
        bpy.context.view_layer.update()
    freshened()
    bpy.context.view_layer.objects.active = fresh.piece
    bpy.ops.object.mode_set(mode="SCULPT")
    before = stored()
    stroke(fresh.piece)
    assert outdated() == CHECKS
    freshened()
    assert fresh.piece.mode == "SCULPT"
    assert stored() != before
    taken = freshening._known.design.snapshot
    bpy.ops.object.mode_set(mode="OBJECT")
    read = read_open_snapshot(bpy.context)
    for one, other in zip(taken.parts, read.parts, strict=True):
        assert one.name == other.name
        assert one.vertices_mm.tobytes() == other.vertices_mm.tobytes()
        assert np.array_equal(one.faces, other.faces)
    assert stored() == measured_anew()


def with_a_face_of_five(item):
    """Give a piece one face with five corners, which nobody but Blender knows how to cut."""
    mesh = item.data
    points = [tuple(vertex.co) for vertex in mesh.vertices]
    faces = [tuple(each.vertices) for each in mesh.polygons]
    a, b, *rest = faces[-1]
    points.append(tuple(0.5 * (mesh.vertices[a].co + mesh.vertices[b].co)))
    mesh.clear_geometry()
    mesh.from_pydata(points, [], [*faces[:-1], (a, len(points) - 1, b, *rest)])


@pytest.mark.parametrize("hold", ["a face of five", "modifier", "key", "moved"])
def test_what_more_than_a_brush_shapes_waits_for_a_whole_check(fresh, hold):
    if hold != "a face of five":
        in_triangles(fresh.piece)
    else:
        with_a_face_of_five(fresh.piece)
    if hold == "modifier":
        fresh.piece.modifiers.new("Smooth", "SMOOTH")
    if hold == "key":
        fresh.piece.shape_key_add(name="Basis")
    bpy.context.view_layer.update()
    freshened()
    bpy.context.view_layer.objects.active = fresh.piece
    bpy.ops.object.mode_set(mode="SCULPT")
    if hold == "moved":
        fresh.piece.location.x += 0.001
    stroke(fresh.piece)
    assert outdated() == CHECKS
    for _ in range(20):
        freshening.turn(bpy.context)
    assert not freshening._rounds
    assert outdated() == CHECKS
    bpy.ops.object.mode_set(mode="OBJECT")


@pytest.mark.parametrize("rough", [0.0, 0.2, 0.8, 3.0])
def test_quads_are_cut_as_blender_cuts_them(rough):
    """Flat ones, folded ones and ones that turn in on themselves."""
    rng = np.random.default_rng(7)
    line = np.arange(30.0)
    points = np.stack([*np.meshgrid(line, line, indexing="ij"), np.zeros((30, 30))], axis=2).reshape(-1, 3)
    points = (points + rough * rng.normal(size=points.shape)).astype(np.float32)
    first = (np.arange(29)[:, None] * 30 + np.arange(29)).ravel()
    faces = [(a, a + 30, a + 31, a + 1) if a % 7 else (a, a + 30, a + 31) for a in first.tolist()]
    mesh = bpy.data.meshes.new("Quads")
    mesh.from_pydata(points.tolist(), [], faces)
    corners = np.concatenate([np.array(face) for face in faces])
    ours = split(corners, np.array([len(face) for face in faces]), points.astype(np.float64))
    assert np.array_equal(ours, triangles(mesh))


def test_quads_that_rounding_may_cut_either_way_are_not_guessed():
    flat_corner = np.array([[0.0, 0.0, 0.0], [1.0, 1.0, 0.0], [2.0, 2.0, 0.0], [0.0, 2.0, 0.0]])
    assert not len(split(np.arange(4), np.array([4]), flat_corner))
    assert len(split(np.arange(4), np.array([4]), flat_corner + [[0, 0, 0], [0.1, -0.1, 0], [0, 0, 0], [0, 0, 0]])) == 2


def test_the_next_stroke_ends_what_runs(fresh):
    stroke(fresh.piece)
    while not (freshening._rounds and freshening._rounds[0].beside):
        freshening.turn(bpy.context)
    first = freshening._rounds[0].beside
    assert "Keep Fresh: " in freshening.freshening_words()
    stroke(fresh.piece, by=0.0004)
    freshening.turn(bpy.context)
    assert first._stopped
    freshened()
    assert stored() == measured_anew()


def test_it_waits_while_another_job_runs_and_stays_off_where_it_is_off(fresh, monkeypatch):
    stroke(fresh.piece)
    monkeypatch.setattr(modal_job, "running", freshening.running)
    freshening.running.append(object())
    try:
        for _ in range(5):
            freshening.turn(bpy.context)
        assert not freshening._rounds
    finally:
        freshening.running.clear()
    fresh.bench.keep_fresh = False
    freshening.turn(bpy.context)
    assert not freshening._rounds
    fresh.bench.keep_fresh = True
    freshening.turn(bpy.context)
    assert freshening._rounds


def test_no_turn_keeps_the_interface_waiting(fresh):
    stroke(fresh.piece)
    longest, until = 0.0, time.monotonic() + 300.0
    while outdated() and time.monotonic() < until:
        start = time.thread_time()
        freshening.turn(bpy.context)
        longest = max(longest, time.thread_time() - start)
        time.sleep(0.005)
    assert not outdated()
    assert longest < 0.05
