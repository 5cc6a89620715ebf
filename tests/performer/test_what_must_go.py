"""Which way a piece comes to what it meets, what of it is free, and which places lie beside others."""

from types import SimpleNamespace

import numpy as np
import pytest

from dryfit.performer.contact.shortening import _free, _rises, near_any, thinned

UP = np.array([0.0, 0.0, 1.0])


def course_of(first_mm, second_mm, counted=slice(None)):
    """Two bodies of two vertices each that come so far, wide open to closed."""
    bodies = [SimpleNamespace(counted=counted, comes=np.array(mm)) for mm in (first_mm, second_mm)]
    stage = SimpleNamespace(vertices=lambda body, t: np.zeros((2, 3)) + body.comes * (1.0 - t))
    pair = SimpleNamespace(first=bodies[0], second=bodies[1])
    return SimpleNamespace(encounter=SimpleNamespace(pair=pair, stage=stage))


@pytest.mark.parametrize(
    ("first_mm", "second_mm", "rises"),
    [((0, 0, 9), (0, 0, 0), 1.0), ((0, 0, -9), (0, 0, 0), -1.0), ((0, 0, 9), (0, 0, 20), -1.0), ((0, 0, 0), (0, 0, 9), -1.0),
     ((0, 0, 0), (0, 0, -9), 1.0), ((0, 0, -3), (0, 0, -9), 1.0), ((5, 0, 0), (0, 0, 0), 1.0)],
)  # fmt: skip
def test_what_comes_up_more_than_what_it_meets_rises(first_mm, second_mm, rises):
    assert _rises(course_of(first_mm, second_mm), UP) == rises


def test_free_is_what_is_clear_wide_open_and_borders_on_nothing_that_is_not():
    faces = np.array([[0, 1, 2], [1, 2, 3], [2, 3, 4], [5, 6, 7], [4, 5, 6]])
    seen = [np.array([[3, 0]]), np.array([[2, 9]]), np.array([[0, 5]])]
    course = SimpleNamespace(
        encounter=SimpleNamespace(pair=SimpleNamespace(first=SimpleNamespace(faces=faces))),
        overlaps=[SimpleNamespace(faces=each) for each in seen],
    )
    assert _free(course).tolist() == [False, False, False, True, True], "by the last pose, which is wide open"


def test_points_are_thinned_to_one_a_cell_and_found_beside_others():
    points = np.array([[0.1, 0, 0], [0.4, 0, 0], [1.2, 0, 0], [-0.1, 0, 0], [1.9, 0.9, 0]])
    assert thinned(points, 1.0).tolist() == [points[0].tolist(), points[2].tolist(), points[3].tolist()]
    near = near_any(points, np.array([[0.0, 0, 0], [2.0, 2.0, 0]]), 1.15)
    assert near.tolist() == [True, True, False, True, True]
    assert not near_any(points, np.zeros((0, 3)), 99.0).any()
