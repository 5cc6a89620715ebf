"""What a form leaves of the room: by formula on a ball, on the real head, and unknown where no skin is below."""

import numpy as np
import pytest

from dryfit.geometry import Surface
from dryfit.rooms.left import RoomLeft
from room_heads import room_of_the_head
from sculpted_skins import gentle
from shapes import icosphere


def on_a_ball(height_mm, room_mm=4.0):
    points, faces = icosphere(4, 80.0)
    left = RoomLeft(Surface(points, faces, facing_out=True), points / 80.0, np.full(len(points), room_mm))
    return left.at(points * (1.0 + height_mm / 80.0))


@pytest.mark.parametrize("height_mm", [0.0, 1.5, 4.0, 9.0, -2.0])
def test_on_a_ball_it_is_the_room_less_the_height(height_mm):
    found = on_a_ball(height_mm)
    np.testing.assert_allclose(found.left_mm, 4.0 - height_mm, atol=0.04)
    assert (np.sort(np.unique(found.foot)) == np.arange(len(found.foot))).all(), "each place has its own foot"


def test_outward_lines_that_lean_are_followed():
    """On a plane whose outward lines lean by 30 degrees a height along them counts, not the way straight down."""
    grid = np.linspace(0.0, 60.0, 31)
    x, y = (each.ravel() for each in np.meshgrid(grid, grid, indexing="ij"))
    points = np.stack([x, y, 0.0 * x], axis=1)
    i, j = (each.ravel() for each in np.meshgrid(np.arange(30), np.arange(30), indexing="ij"))
    a = i * 31 + j
    quads = np.stack([a, a + 31, a + 32, a + 1], axis=1)
    faces = np.concatenate([quads[:, :3], quads[:, [0, 2, 3]]])
    lean = np.array([np.sin(np.radians(30.0)), 0.0, np.cos(np.radians(30.0))])
    left = RoomLeft(Surface(points, faces, facing_out=True), np.tile(lean, (len(points), 1)), np.full(len(points), 5.0))
    inner = (x > 10.0) & (x < 40.0) & (y > 10.0) & (y < 50.0)
    np.testing.assert_allclose(left.at(points[inner] + 3.0 * lean).left_mm, 2.0, atol=0.005)


def test_where_room_or_skin_is_not_known_it_is_not_known():
    points, faces = icosphere(3, 80.0)
    room = np.where(points[:, 2] > 0.0, 4.0, np.nan)
    left = RoomLeft(Surface(points, faces, facing_out=True), points / 80.0, room).at(points * 1.02)
    assert np.isfinite(left.left_mm[points[:, 2] > 25.0]).all() and np.isnan(left.left_mm[points[:, 2] < -25.0]).all()
    edge = np.array([[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [0.0, 10.0, 0.0]])
    open_skin = RoomLeft(
        Surface(edge, np.array([[0, 1, 2]]), facing_out=True), np.tile([0.0, 0.0, 1.0], (3, 1)), np.ones(3)
    )
    assert np.isnan(open_skin.at(np.array([[30.0, 30.0, 0.5]])).left_mm).all(), "beside the scan there is no room"


def test_skins_under_and_over_the_room_of_the_real_head():
    """Nowhere generous: a skin at a share of the room never seems to have more left than it has."""
    room = room_of_the_head()
    surface = Surface(room.vertices_mm, room.faces, facing_out=True)
    left = RoomLeft(surface, room.outward, room.room_mm)
    for share in (0.5, 0.95):
        heights = gentle(room, share * room.room_mm)
        some = np.flatnonzero(np.isfinite(room.room_mm) & (heights > 0.5) & (room.room_mm < 20.0))
        found = left.at(room.vertices_mm[some] + heights[some, None] * room.outward[some]).left_mm
        true = room.room_mm[some] - heights[some]
        known = np.isfinite(found)
        assert known.mean() > 0.9
        assert np.mean(found[known] <= true[known] + 0.3) > 0.95, "cautious"
        assert abs(np.median(found[known] - true[known])) < 0.1, "and right in the middle of it"
    over = np.flatnonzero(np.isfinite(room.room_mm) & (room.room_mm < 20.0) & (room.room_mm > 0.0))
    heights = 1.1 * room.room_mm[over] + 0.3
    found = left.at(room.vertices_mm[over] + heights[:, None] * room.outward[over]).left_mm
    assert np.mean(found[np.isfinite(found)] < 0.0) > 0.95
