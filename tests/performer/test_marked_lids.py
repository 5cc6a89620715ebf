"""Which cells of the grid before an eye show it, where vertex groups mark the lids: those between one lid and the other."""

from types import SimpleNamespace

import numpy as np
import pytest

from dryfit.performer.lids import Lids, lid_groups

UPPER, OTHER, LOWER, AIR = 0, 1, 2, -1


@pytest.mark.parametrize(
    ("column", "seen"),
    [((LOWER, AIR, AIR, UPPER), [0, 1, 1, 0]), ((LOWER, LOWER, OTHER, UPPER, UPPER), [0, 0, 1, 0, 0]),
     ((LOWER, UPPER), [0, 0]), ((AIR, AIR, UPPER), [0, 0, 0]), ((LOWER, AIR, AIR), [0, 0, 0]), ((AIR, AIR), [0, 0]),
     ((UPPER, AIR, LOWER), [0, 0, 0]), ((OTHER, LOWER, AIR, UPPER, AIR), [0, 0, 1, 0, 0])],
)  # fmt: skip
def test_the_eye_shows_between_the_lids(column, seen):
    """Cells from below upward, each with what a ray from the front meets there; one cell of a lid is enough of it."""
    upper, lower = lid_groups("left")
    marks = {upper: np.array([True, False, False]), lower: np.array([False, False, True])}
    lids = SimpleNamespace(_on_lid=lambda group: marks[group], eye=SimpleNamespace(side="left"))
    faces = np.array([column])
    assert Lids._between_marked_lids(lids, faces).astype(int).tolist() == [seen]
