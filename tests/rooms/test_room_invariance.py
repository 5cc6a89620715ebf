"""A room belongs to the face: it moves with the head, is mirrored with it, and hangs on no order of vertices."""

import numpy as np
import pytest

from dryfit.geometry import Surface
from room_heads import bare_head, mirrored, moved, room_of_the_head, room_on, shuffled, subdivided

TURN = np.array([[0.8, -0.6, 0.0], [0.6, 0.8, 0.0], [0.0, 0.0, 1.0]]) @ np.array(
    [[1.0, 0.0, 0.0], [0.0, 0.8, -0.6], [0.0, 0.6, 0.8]]
)


def apart(one, other):
    """How far two rooms differ where both are known, mm; they must be known at the same places."""
    np.testing.assert_array_equal(np.isfinite(one), np.isfinite(other))
    known = np.isfinite(one)
    return np.abs(one[known] - other[known])


def test_a_symmetric_head_has_a_symmetric_room():
    room = room_of_the_head()
    near = Surface(room.vertices_mm, room.faces).closest(room.vertices_mm * [-1.0, 1.0, 1.0])
    twin = room.faces[near.face][np.arange(len(near.face)), near.barycentric.argmax(axis=1)]
    differ = apart(room.room_mm, room.room_mm[twin])
    assert np.percentile(differ, 90) < 0.05
    assert np.percentile(differ, 95) < 0.2


@pytest.mark.slow
def test_a_rigid_motion_takes_the_room_along():
    turned = room_on(moved(bare_head(), TURN, np.array([120.0, -40.0, 300.0])))
    differ = apart(room_of_the_head().room_mm, turned.room_mm)
    assert np.percentile(differ, 90) < 0.05
    assert np.percentile(differ, 98) < 0.3


@pytest.mark.slow
def test_a_mirror_mirrors_the_room():
    differ = apart(room_of_the_head().room_mm, room_on(mirrored(bare_head())).room_mm)
    assert np.percentile(differ, 90) < 0.05
    assert np.percentile(differ, 98) < 0.4


@pytest.mark.slow
def test_the_order_of_vertices_means_nothing():
    other, order = shuffled(bare_head(), seed=3)
    np.testing.assert_allclose(room_on(other).room_mm, room_of_the_head().room_mm[order], atol=1e-6)


@pytest.mark.slow
def test_a_finer_mesh_of_the_same_skin_moves_the_borders_of_the_room_only():
    """Within two of the coarse mesh's edges the room of the finer one is found on the coarse one too."""
    coarse, finer = room_of_the_head(), room_on(subdivided(bare_head()))
    least = most = np.nan_to_num(coarse.room_mm, nan=0.0)
    for _ in range(2):
        least, most = around(coarse.faces, least, np.minimum), around(coarse.faces, most, np.maximum)
    room = finer.room_mm[: len(coarse.room_mm)]
    known = np.isfinite(room) & np.isfinite(coarse.room_mm)
    within = (room >= 0.85 * least - 0.2) & (room <= 1.15 * most + 0.2)
    assert within[known].mean() > 0.9
    assert np.median(np.abs(room - coarse.room_mm)[known] / np.maximum(coarse.room_mm[known], 1.0)) < 0.1


def around(faces, values, which):
    spread = values.copy()
    for corner in range(3):
        which.at(spread, faces[:, corner], which.reduce(values[faces], axis=1))
    return spread
