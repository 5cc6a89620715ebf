"""Which way a head faces, where its landmarks tell and where they tell nothing."""

import numpy as np
import pytest

from dryfit.performer.head_frame import HeadFrame

MARKS = {
    "tragion_left": np.array([70.0, 0.0, 0.0]), "tragion_right": np.array([-70.0, 0.0, 0.0]),
    "sellion": np.array([0.0, -90.0, 30.0]), "gnathion": np.array([0.0, -90.0, -80.0]),
}  # fmt: skip


def test_left_front_and_up_are_read_from_a_pair_and_a_line():
    frame = HeadFrame.from_landmarks(MARKS)
    assert not frame.assumed
    np.testing.assert_allclose([frame.left, frame.front, frame.up], [[1, 0, 0], [0, -1, 0], [0, 0, 1]], atol=1e-12)


@pytest.mark.parametrize(
    "marks",
    [
        {}, {name: np.zeros(3) for name in MARKS}, {**MARKS, "tragion_left": MARKS["tragion_right"]},
        {**MARKS, "sellion": MARKS["gnathion"]},
        {**MARKS, "sellion": MARKS["tragion_left"], "gnathion": MARKS["tragion_right"]},
    ],
    ids=["none", "at the origin", "both sides on one spot", "crown and chin on one spot", "all on one line"],
)  # fmt: skip
def test_where_they_tell_nothing_blenders_convention_stands_in_and_is_said(marks):
    """A direction that is none would go on into every search that begins with the front."""
    frame = HeadFrame.from_landmarks(marks)
    assert frame.assumed
    np.testing.assert_array_equal([frame.left, frame.front, frame.up], [[1, 0, 0], [0, -1, 0], [0, 0, 1]])
