"""A rim walked in even steps: how many, how long, where, and which stretches of it are one."""

import numpy as np
import pytest

from dryfit.geometry.rim import spans, walk_rim, weighted_quantile

SQUARE = np.array([[0.0, 0, 0], [10, 0, 0], [10, 10, 0], [0, 10, 0]])
LOOP = np.array([[0, 1], [1, 2], [2, 3], [3, 0]])


@pytest.mark.parametrize(("step_mm", "parts"), [(0.5, 20), (3.0, 4), (2.5, 4), (10.0, 1), (99.0, 1)])
def test_each_edge_is_cut_into_steps_no_longer_than_asked(step_mm, parts):
    samples = walk_rim(SQUARE, LOOP, step_mm)
    assert len(samples.points_mm) == 4 * parts and samples.closed.tolist() == [True]
    np.testing.assert_allclose(samples.lengths_mm, 10.0 / parts)
    first = samples.edge[0]
    start, way = SQUARE[first[0]], (SQUARE[first[1]] - SQUARE[first[0]]) / parts
    np.testing.assert_allclose(samples.points_mm[:parts], start + (np.arange(parts)[:, None] + 0.5) * way)


def test_two_chains_are_told_apart_and_an_open_one_is_no_loop():
    corners = np.concatenate([SQUARE, SQUARE + [50.0, 0, 0]])
    samples = walk_rim(corners, np.concatenate([LOOP, [[4, 5], [5, 6]]]), 2.0)
    assert sorted(samples.closed.tolist()) == [False, True]
    lengths = {bool(samples.closed[chain]): samples.lengths_mm[samples.chain == chain].sum() for chain in (0, 1)}
    assert lengths == pytest.approx({True: 40.0, False: 20.0})
    nothing = walk_rim(SQUARE, np.zeros((0, 2), np.int64), 1.0)
    assert len(nothing.points_mm) == len(nothing.closed) == 0


@pytest.mark.parametrize(
    ("marked", "bridge_mm", "runs"),
    [([3, 4, 5], 1.0, [[3, 4, 5]]), ([3, 5], 0.9, [[3], [5]]), ([3, 5], 1.0, [[3, 5]]), ([3, 7], 3.0, [[3, 7]]),
     ([3, 7], 2.9, [[3], [7]]), ([0, 39], 0.5, [[39, 0]]), ([1, 38, 20], 2.0, [[38, 1], [20]]),
     ([1, 38, 20], 1.9, [[1], [20], [38]]), ([], 9.0, [])],
)  # fmt: skip
def test_gaps_no_longer_than_a_bridge_do_not_part_a_run_nor_does_the_first_step(marked, bridge_mm, runs):
    samples = walk_rim(SQUARE, LOOP, 1.0)
    over = np.zeros(40, bool)
    over[marked] = True
    assert sorted(run.tolist() for run in spans(over, samples, bridge_mm)) == sorted(runs)


@pytest.mark.parametrize(("share", "value"), [(0.0, 1.0), (0.1, 1.0), (0.5, 2.0), (0.75, 2.0), (0.76, 5.0), (1.0, 5.0)])
def test_a_share_of_the_weight_lies_under_a_quantile(share, value):
    assert weighted_quantile(np.array([5.0, 1.0, 2.0]), np.array([1.0, 1.0, 2.0]), share) == value
    assert np.isnan(weighted_quantile(np.zeros(0), np.zeros(0), share))
