"""A surface cut into tiles, and the lowest of values that change a few at a time."""

import numpy as np
import pytest

from dryfit.geometry.lowest import BLOCK, Lowest
from dryfit.geometry.tiling import tiles


@pytest.fixture
def sheet():
    places = np.stack(np.meshgrid(np.arange(90.0), np.arange(40.0), indexing="ij"), -1).reshape(-1, 2)
    corner = np.arange(len(places)).reshape(90, 40)
    a, b, c, d = (part.ravel() for part in (corner[:-1, :-1], corner[1:, :-1], corner[1:, 1:], corner[:-1, 1:]))
    faces = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    return np.column_stack([places, np.zeros(len(places))]), np.random.default_rng(0).permutation(faces)


def test_every_triangle_is_in_one_tile_with_its_corners_in_order(sheet):
    vertices, faces = sheet
    cut = tiles(vertices, faces, 500)
    back = np.concatenate([tile.vertices[tile.faces] for tile in cut])
    assert max(len(tile.faces) for tile in cut) <= 500
    assert np.array_equal(back[np.lexsort(back.T)], faces[np.lexsort(faces.T)])


def test_a_small_place_touches_few_tiles(sheet):
    vertices, faces = sheet
    near = np.linalg.norm(vertices - [45.0, 20.0, 0.0], axis=1) < 3.0
    touched = [tile for tile in tiles(vertices, faces, 500) if near[tile.vertices].any()]
    assert 1 <= len(touched) <= 4


def test_no_triangles_are_no_tiles():
    assert tiles(np.zeros((3, 3)), np.zeros((0, 3), int), 10) == ()


def test_the_lowest_follows_changes_like_looking_at_all_of_them():
    random = np.random.default_rng(1)
    values = random.normal(size=3 * BLOCK + 17)
    values[::5] = np.nan
    kept = Lowest(values)
    for _ in range(50):
        which = random.choice(len(values), 200, replace=False)
        values[which] = random.normal(size=200) + 0.1
        values[which[:20]] = np.nan
        kept.change(which, values[which])
        assert kept.value == np.nanmin(values)


def test_nothing_has_no_lowest():
    assert Lowest(np.full(5, np.nan)).value == np.inf
    assert Lowest(np.zeros(0)).value == np.inf
