"""Chains of straight pieces: how far from one, points along one, and the order of its corners."""

import numpy as np
import pytest

from dryfit.geometry.chains import chain_order, distance_to_chain_mm, spread_along

CORNER = np.array([[0.0, 0, 0], [10, 0, 0], [10, 4, 0]])


@pytest.mark.parametrize(
    ("point", "far_mm"),
    [((5, 0, 0), 0.0), ((5, 2, 0), 2.0), ((-3, 4, 0), 5.0), ((12, 2, 0), 2.0), ((10, 7, 4), 5.0), ((9, 1, 0), 1.0)],
)
def test_the_distance_is_to_the_nearest_piece_or_end(point, far_mm):
    assert distance_to_chain_mm(np.array([point], float), CORNER) == pytest.approx(far_mm)
    assert distance_to_chain_mm(np.array([point], float), np.repeat(CORNER, 2, axis=0)) == pytest.approx(far_mm)


@pytest.mark.parametrize(("spacing_mm", "counts"), [(5.0, (2, 1)), (4.0, (3, 1)), (2.0, (5, 2)), (99.0, (1, 1))])
def test_points_along_a_chain_are_no_further_apart_than_asked_and_corners_among_them(spacing_mm, counts):
    points = spread_along(CORNER, spacing_mm)
    assert len(points) == 1 + sum(counts)
    np.testing.assert_allclose(points[[0, counts[0], -1]], CORNER)
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    np.testing.assert_allclose(steps, [10.0 / counts[0]] * counts[0] + [4.0 / counts[1]] * counts[1])


@pytest.mark.parametrize(
    ("edges", "order"),
    [([[7, 3], [3, 9], [2, 9]], [2, 9, 3, 7]), ([[1, 2], [2, 3], [3, 1]], [1, 2, 3, 1]), ([[4, 5]], [4, 5]), ([], []),
     ([[5, 6], [1, 2], [2, 8]], [1, 2, 8]), ([[1, 5], [5, 9], [5, 7]], [1, 5, 7])],
)  # fmt: skip
def test_corners_stand_in_the_order_of_their_chain(edges, order):
    assert chain_order(np.array(edges, np.int64).reshape(-1, 2)).tolist() == order
