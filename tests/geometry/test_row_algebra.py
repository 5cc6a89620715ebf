"""Rows gone through by columns give what numpy's own reductions give, to the bit."""

from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from dryfit.geometry import rows

Rows = npt.NDArray[Any]

SHAPES = [
    (0, 3),
    (1, 3),
    (7, 3),
    (400, 3),
    (60, 4),
    (5, 2),
    (5, 1),
    (9, 7),
    (6, 3, 3),
    (40, 4, 3),
    (200, 3, 3),
    (4, 3, 2),
]
ALONG: dict[Callable[[Rows], Rows], Callable[[Rows], Rows]] = {
    rows.row_sums: lambda values: values.sum(axis=1),
    rows.row_means: lambda values: values.mean(axis=1),
    rows.row_lows: lambda values: values.min(axis=1),
    rows.row_highs: lambda values: values.max(axis=1),
    rows.row_any: lambda values: (values > 0.5).any(axis=1),
    rows.row_all: lambda values: (values > 0.5).all(axis=1),
}


def values(shape: tuple[int, ...], with_nan: bool) -> Rows:
    drawn = np.random.default_rng(sum(shape)).normal(size=shape) * 10.0 ** np.arange(shape[-1])
    drawn.flat[::5] = np.nan if with_nan else 0.0
    return drawn


@pytest.mark.parametrize("with_nan", [False, True])
@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("mine", ALONG, ids=lambda each: each.__name__)
def test_each_row_comes_to_what_numpy_makes_of_it(
    mine: Callable[[Rows], Rows], shape: tuple[int, ...], with_nan: bool
) -> None:
    given = values(shape, with_nan)
    asked = given > 0.5 if mine in (rows.row_any, rows.row_all) else given
    np.testing.assert_array_equal(mine(asked), ALONG[mine](given), strict=True)


@pytest.mark.parametrize("shape", [*SHAPES, (3,), (2, 3, 3)])
def test_lengths_are_those_of_numpy(shape: tuple[int, ...]) -> None:
    given = values(shape, with_nan=False)
    np.testing.assert_array_equal(rows.row_norms(given), np.linalg.norm(given, axis=-1), strict=True)


@pytest.mark.parametrize("count", [0, 1, 2, 50])
def test_products_are_summed_the_ends_first(count: int) -> None:
    """The order in which numpy's einsum adds three products, two at a time: figures stay as they were."""
    one, other = values((count, 3), with_nan=False), values((count, 3), with_nan=False)[::-1]
    wanted = [(a * d + c * f) + b * e for (a, b, c), (d, e, f) in zip(one.tolist(), other.tolist(), strict=True)]
    np.testing.assert_array_equal(rows.dot_rows(one, other), np.array(wanted))


def test_places_on_triangles_are_their_corners_by_weight() -> None:
    vertices, corners = values((6, 3), with_nan=False), np.array([[0, 1, 2], [5, 5, 3]])
    weights = np.array([[0.25, 0.5, 0.25], [0.5, 0.5, 0.0]])
    wanted = [0.25 * vertices[0] + 0.5 * vertices[1] + 0.25 * vertices[2], vertices[5]]
    np.testing.assert_allclose(rows.points_at(weights, vertices, corners), wanted)


def test_true_ones_are_counted_not_merged() -> None:
    marked = np.array([[True, True, True], [True, False, True], [False, False, False]])
    np.testing.assert_array_equal(rows.row_sums(marked), [3, 2, 0], strict=True)


@pytest.mark.parametrize("count", [1, 3, rows.SHORT, rows.SHORT + 1, 500])
@pytest.mark.parametrize("width", [2, 3, 6])
def test_a_box_is_the_least_and_the_largest_of_each_column(count: int, width: int) -> None:
    points = values((count, width), with_nan=False)
    np.testing.assert_array_equal(rows.lows(points), points.min(axis=0), strict=True)
    np.testing.assert_array_equal(rows.highs(points), points.max(axis=0), strict=True)
    np.testing.assert_array_equal(rows.extents(points), np.ptp(points, axis=0), strict=True)


def test_no_points_have_no_box() -> None:
    with pytest.raises(ValueError, match="zero-size"):
        rows.lows(np.zeros((0, 3)))


def test_a_nan_stays_where_it_is() -> None:
    points = np.ones((100, 3))
    points[40, 1] = np.nan
    np.testing.assert_array_equal(rows.highs(points), [1.0, np.nan, 1.0])
