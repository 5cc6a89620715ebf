"""The lock: kept with the base, and any later change shows by how much."""

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.model.brief_reading import parse_brief  # noqa: E402
from dryfit.model.errors import NoFaces  # noqa: E402
from dryfit.model.fingerprint import fingerprint  # noqa: E402
from dryfit.scene.errors import BadStoredValue  # noqa: E402
from dryfit.scene.locking import lock_base, packed, unlock_base, unpacked  # noqa: E402
from dryfit.scene.reading import read_file, read_snapshot  # noqa: E402

JAW = parse_brief("[motions.jaw]\nkeys = { JawOpen = [0.0, 1.0] }")
STEP_MM = 0.001


def held(snapshot):
    return snapshot.lock.fingerprint == fingerprint(snapshot.base.vertices_mm, snapshot.base.faces)


def test_an_unlocked_base_has_no_lock(build):
    build.sphere()
    assert read_snapshot(bpy.context).lock is None


def test_a_lock_holds_through_a_file(build, tmp_path):
    head = build.sphere()
    head.location, head.rotation_euler, head.scale = (0.01, 0.02, 0.03), (0.1, 0.2, 0.3), (-1.0, 1.1, 0.9)
    lock_base(head)
    path = tmp_path / "warden.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    snapshot = read_file(path)
    assert held(snapshot)
    np.testing.assert_allclose(snapshot.lock.vertices_mm, snapshot.base.vertices_mm, atol=STEP_MM / 2 + 1e-9)


def test_a_base_can_be_locked_again_after_it_changed(build):
    """Blender writes bytes over a property that is there only up to their first zero byte."""
    head = build.sphere(rings=40)
    lock_base(head)
    for step in range(4):
        head.location.x += 0.0137
        head.data.vertices[step].co.z += 0.003
        bpy.context.view_layer.update()
        lock = lock_base(head)
        kept = read_snapshot(bpy.context).lock
        assert kept.fingerprint == lock.fingerprint
        assert kept.vertices_mm == pytest.approx(lock.vertices_mm, abs=STEP_MM)


def test_a_moved_vertex_breaks_it_and_the_distance_is_known(build):
    head = build.sphere()
    lock_base(head)
    head.data.vertices[100].co.x += 0.00125
    snapshot = read_snapshot(bpy.context)
    assert not held(snapshot)
    change_mm = np.linalg.norm(snapshot.lock.vertices_mm - snapshot.base.vertices_mm, axis=1)
    assert change_mm.argmax() == 100
    assert change_mm.max() == pytest.approx(1.25, abs=2 * STEP_MM)
    assert np.sort(change_mm)[-2] < 2 * STEP_MM


def test_an_open_jaw_does_not_break_it_but_another_shape_does(build):
    head = build.sphere()
    jaw = build.key(head, "JawOpen", (0.0, 0.0, -0.03))
    smile = build.key(head, "Smile", (0.002, 0.0, 0.0))
    lock_base(head, brief=JAW)
    jaw.value = 0.8
    assert held(read_snapshot(bpy.context, JAW))
    smile.value = 0.5
    assert not held(read_snapshot(bpy.context, JAW))


def test_locking_leaves_the_scene_as_it_was(build, state):
    head = build.sphere()
    build.key(head, "JawOpen", (0.0, 0.0, -0.03), value=0.3)
    before = state()
    lock_base(head, brief=JAW)
    assert state() == before


def test_unlocking_forgets_everything(build):
    head = build.sphere()
    lock_base(head)
    unlock_base(head)
    unlock_base(head)
    assert not [name for name in head.keys() if name.startswith("dryfit_lock")]  # noqa: SIM118


def test_what_is_no_surface_cannot_be_locked(build):
    with pytest.raises(NoFaces, match="'Marker'"):
        lock_base(build.empty("Marker"))


def test_a_lock_without_its_vertices_is_still_a_lock(build):
    head = build.sphere()
    lock_base(head)
    del head["dryfit_lock_vertices"]
    snapshot = read_snapshot(bpy.context)
    assert held(snapshot)
    assert snapshot.lock.vertices_mm.shape == (0, 3)


@pytest.mark.parametrize("damage", [b"", b"nonsense", "text", 3])
def test_a_damaged_lock_is_an_error_that_names_it(build, damage):
    head = build.sphere()
    lock_base(head)
    head["dryfit_lock_vertices"] = damage
    with pytest.raises(BadStoredValue, match=r"'Head'.*dryfit_lock_vertices"):
        read_snapshot(bpy.context)


@pytest.mark.parametrize("count", [0, 1, 5000])
def test_packing_keeps_a_micrometre_and_little_room(count):
    points = np.random.default_rng(3).normal(0.0, 80.0, (count, 3))
    stored = packed(points)
    np.testing.assert_allclose(unpacked(stored), points, atol=STEP_MM / 2 + 1e-9)
    assert len(stored) <= 12 * count + 64
