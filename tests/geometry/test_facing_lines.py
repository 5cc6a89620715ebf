"""How two lines in a plane stand to each other, against closed forms and against a dense sampling of both."""

import itertools

import numpy as np
import pytest

from dryfit.geometry.cuts.facing_lines import DEPTH_MM, JOIN, joined_gap_mm, separation


def pieces(*corners):
    """A line through corners (front, up) as one plane's pieces, its last corner a piece of no length."""
    line = np.array(corners, float)
    return np.stack([line, np.vstack([line[1:], line[-1:]])], axis=1)[None]


def separated(upper, lower):
    found = separation(pieces(*upper), pieces(*lower))
    return found.height_mm[0], found.apart_mm[0], found.nearest_mm[0]


def sampled(corners, count=400):
    line = np.array(corners, float)
    share = np.linspace(0.0, 1.0, count)[:, None]
    return np.concatenate([a + share * (b - a) for a, b in itertools.pairwise(line)])


POST = ((0.0, 10.0), (0.0, 0.0), (4.0, 0.0), (4.0, 10.0))
"""An upper lip as a post: its underside from front 0 to 4 at height 0."""


def stump(front, top):
    return ((front, top - 10.0), (front, top), (front + 4.0, top), (front + 4.0, top - 10.0))


@pytest.mark.parametrize(
    ("front", "top", "height", "apart"),
    [
        (0.0, -3.0, 3.0, 3.0),
        (-2.0, -3.0, 3.0, 3.0),
        (-7.0, -4.0, 4.0, 5.0),
        (-5.0, 0.0, 0.0, 1.0),
        (-6.5, 6.0, -6.0, 2.5),
        (5.0, 6.0, -6.0, 1.0),
    ],
)
def test_posts_that_stand_apart(front, top, height, apart):
    """Over each other, beside each other, level, and one hanging before the other."""
    found = separated(POST, stump(front, top))
    assert found[0] == pytest.approx(height)
    assert found[1] == pytest.approx(apart)
    assert np.linalg.norm(found[2][0] - found[2][1]) == pytest.approx(apart)


@pytest.mark.parametrize(
    ("front", "top", "gives"), [(0.0, 0.5, 0.5), (-3.5, 2.0, 0.5), (3.7, 2.0, 0.3), (-1.0, 1.5, 1.5)]
)
def test_posts_that_run_into_each_other_give_way_the_shorter_way(front, top, gives):
    height, apart, _ = separated(POST, stump(front, top))
    assert height == pytest.approx(-top)
    assert apart == pytest.approx(-gives)


def test_touching_is_where_the_two_readings_meet():
    ways = [separated(POST, stump(-4.0 + shift, 2.0))[1] for shift in (-1e-6, 1e-6)]
    assert ways == pytest.approx([0.0, 0.0], abs=2e-6)
    ways = [separated(POST, stump(0.5, shift))[1] for shift in (-1e-6, 1e-6)]
    assert ways == pytest.approx([0.0, 0.0], abs=2e-6)


@pytest.mark.parametrize("seed", range(12))
def test_the_shortest_way_is_that_of_dense_samples(seed):
    rng = np.random.default_rng(seed)
    upper = np.cumsum(rng.normal(0.0, 1.0, (9, 2)), axis=0) + [0.0, 12.0]
    lower = np.cumsum(rng.normal(0.0, 1.0, (7, 2)), axis=0) - [0.0, 12.0]
    height, apart, _ = separated(upper, lower)
    one, other = sampled(upper), sampled(lower)
    far = np.linalg.norm(one[:, None] - other[None], axis=2).min()
    assert height == pytest.approx(upper[:, 1].min() - lower[:, 1].max())
    assert 0.0 <= far - apart < 0.01


def test_a_line_of_several_strokes_is_as_near_as_its_nearest():
    two = np.concatenate([pieces((0.0, 9.0), (1.0, 8.0)), pieces((5.0, 4.0), (6.0, 5.0))], axis=1)
    found = separation(two, pieces((5.0, 0.0), (9.0, 0.0)))
    assert found.apart_mm[0] == pytest.approx(4.0), "no stroke joins the two"


HEIGHT = np.linspace(-1.0, 8.0, 901)


@pytest.mark.parametrize("depth", [0.0, 0.3, 1.0, 1.9, 2.5, 9.0])
def test_the_gap_grows_with_height_without_a_step_and_ends_as_the_height(depth):
    apart = np.hypot(np.maximum(HEIGHT, 0.0), depth)
    gap = joined_gap_mm(HEIGHT, apart)
    steps = np.diff(gap)
    assert (steps >= -1e-12).all()
    assert steps.max() <= 1.02 * np.diff(HEIGHT)[0]
    assert gap[HEIGHT <= 0.0] == pytest.approx(min(depth, DEPTH_MM))
    beyond = JOIN * min(depth, DEPTH_MM) <= HEIGHT
    assert gap[beyond] == pytest.approx(np.maximum(HEIGHT[beyond], 0.0))
    assert (gap <= apart + 1e-12).all() and (gap >= HEIGHT).all()


def test_the_gap_grows_with_the_depth_while_that_counts():
    depth = np.linspace(0.0, 4.0, 401)
    for height in (-0.5, 0.0, 0.2, 1.0, 3.0):
        gap = joined_gap_mm(np.full(401, height), np.hypot(max(height, 0.0), depth))
        assert (np.diff(gap) >= -1e-12).all()
        assert np.ptp(gap[depth >= DEPTH_MM]) < 1e-12


def test_what_runs_in_is_negative_and_joins_what_stands_apart():
    assert joined_gap_mm(np.array([-1.0]), np.array([-0.4])) == pytest.approx([-0.4])
    near = joined_gap_mm(np.full(2, -1.0), np.array([-1e-9, 1e-9]))
    assert near == pytest.approx([0.0, 0.0], abs=2e-9)
