"""Which skin lies round a mouth: within a box about its closed line, wherever the line goes when it opens."""

from types import SimpleNamespace

import numpy as np
import pytest

from dryfit.performer.mouth.lip_skin import (
    DEPTH_BEFORE_MM,
    DEPTH_BEHIND_MM,
    ROUGH_MM,
    ROUGH_STILL_MM,
    STILL_MM,
    ZONE_HEIGHT_MM,
    ZONE_SIDE_MM,
    in_zone,
    round_mouth,
)

LITTLE = 1e-3


class Line:
    """A mouth line that is where points are given from, and far below once the jaw is open."""

    frame = SimpleNamespace(coordinates=np.asarray)

    def __init__(self, closing_moves_mm=0.0):
        self.closing_moves_mm = closing_moves_mm

    def beyond(self, coordinates_mm, t):
        return coordinates_mm + [0.0, 0.0, 1000.0 * t]


def at(*middle_mm):
    """One small triangle about a place (outward of a corner, ahead, up)."""
    return np.array(middle_mm) + np.array([[[-LITTLE, 0, 0], [LITTLE, 0, 0], [0, 0, 0]]]) / 10.0


ENDS = [(0, ZONE_SIDE_MM), (1, DEPTH_BEFORE_MM), (1, -DEPTH_BEHIND_MM), (2, ZONE_HEIGHT_MM), (2, -ZONE_HEIGHT_MM)]


@pytest.mark.parametrize(("axis", "end_mm"), ENDS)
@pytest.mark.parametrize("margin_mm", [0.0, 3.0])
def test_skin_is_round_the_mouth_up_to_each_side_of_its_box(axis, end_mm, margin_mm):
    for step, inside in ((-LITTLE, True), (LITTLE, False)):
        place = np.zeros(3)
        place[axis] = end_mm + np.sign(end_mm) * (margin_mm + step)
        assert in_zone(Line(), at(*place), margin_mm).tolist() == [inside]


@pytest.mark.parametrize(("moves_mm", "margin_mm"), [(STILL_MM, ROUGH_STILL_MM), (STILL_MM + LITTLE, ROUGH_MM)])
def test_where_closing_moves_the_mouth_more_skin_may_come_to_lie_round_it(moves_mm, margin_mm):
    for step, inside in ((-LITTLE, True), (LITTLE, False)):
        place = at(0.0, 0.0, ZONE_HEIGHT_MM + margin_mm + step)
        assert round_mouth(Line(moves_mm), place).tolist() == [inside]
