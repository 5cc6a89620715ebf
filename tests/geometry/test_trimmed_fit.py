"""The motion of the better share of points, whatever the rest agrees on among itself."""

from functools import partial

import numpy as np
import pytest

from dryfit.geometry.rigid import fit_rigid, rotation_matrix
from dryfit.geometry.similarity import Similarity, fit_similarity
from dryfit.geometry.trimmed_fit import agreeing, agreeing_from

RNG = np.random.default_rng(5)
TRUE = Similarity(1.1, rotation_matrix(np.array([0.2, -0.5, 0.3])), np.array([10.0, -4.0, 2.0]))
OTHER = Similarity(0.8, rotation_matrix(np.array([-1.0, 0.4, 0.9])), np.array([-60.0, 90.0, 30.0]))
KINDS = [partial(fit_similarity, scale_range=(0.6, 1.6)), fit_similarity]


def two_crowds(wrong=9, count=30):
    """Points of which the first few go another way together."""
    points = RNG.normal(size=(count, 3)) * 60.0
    moved = TRUE.apply(points)
    moved[:wrong] = OTHER.apply(points[:wrong])
    return points, moved


@pytest.mark.parametrize("fit", KINDS)
def test_majority_is_followed_exactly_and_named(fit):
    points, moved = two_crowds()
    found = agreeing(fit, points, moved, 0.7)
    assert np.allclose(found.motion.apply(points[9:]), moved[9:], atol=1e-9)
    assert found.misfit_mm == pytest.approx(0.0, abs=1e-9)
    assert found.kept.tolist() == [False] * 9 + [True] * 21


def test_one_start_among_the_wrong_ones_is_not_enough():
    """What many starts are for: from the wrong crowd alone the fit stays with it."""
    points, moved = two_crowds()
    start = np.arange(30) < 9
    alone = agreeing_from(fit_similarity, points, moved, start, 0.3)
    assert alone.kept[:9].all()
    assert agreeing_from(fit_rigid, points, moved, ~start, 0.7).misfit_mm > 0.5, "no rigid motion makes things larger"


def test_far_wrong_points_pull_the_first_fit_and_not_the_best_of_many():
    """Points far off weigh most in a fit of all: started from that, none of the right ones is found again."""
    points, _ = two_crowds()
    points[:9] += [300.0, 0.0, 0.0]
    moved = TRUE.apply(points)
    moved[:9] = TRUE.apply(points[:9] * [-1.0, 1.0, 1.0])
    assert agreeing_from(fit_similarity, points, moved, np.ones(30, bool), 0.7).misfit_mm > 10.0
    found = agreeing(fit_similarity, points, moved, 0.7)
    assert found.misfit_mm == pytest.approx(0.0, abs=1e-9)
    assert not found.kept[:9].any()


def test_same_answer_every_time():
    points, moved = two_crowds()
    one, two = (agreeing(fit_similarity, points, moved + 0.1, 0.7) for _ in range(2))
    assert np.array_equal(one.motion.shift_mm, two.motion.shift_mm)
