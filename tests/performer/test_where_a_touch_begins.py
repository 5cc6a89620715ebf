"""Where a piece that goes deeper and deeper first counts, and what it is shown by: depth 10 t, 3 mm forgiven."""

from dataclasses import dataclass
from types import SimpleNamespace

import numpy as np
import pytest

from dryfit.performer.contact.course import Course
from dryfit.performer.contact.pairs import Give

FORGIVEN_MM = 3.0


@dataclass(frozen=True)
class Deep:
    """Two points of one piece at one pose, the second half as deep as the first."""

    t: float
    depth_mm: np.ndarray
    points: np.ndarray


class Sinking:
    """One piece into flesh, ``depth_mm(t)`` deep."""

    solid, known = True, None

    def __init__(self, depth_mm, flush=False):
        self.depth_mm, self._flush = depth_mm, flush
        self.pair = SimpleNamespace(first=SimpleNamespace(pieces=[0]), give=Give.FLESH)

    def overlap(self, t):
        """What is seen at a pose; of flush walls nothing."""
        count = 0 if self._flush else 2
        return Deep(t, np.array([1.0, 0.5])[:count] * max(self.depth_mm(t), 0.0), np.arange(2)[:count])

    def depths_mm(self, points, t):
        return np.array([1.0, 0.5])[points] * self.depth_mm(t)

    def piece_of(self, overlap):
        return np.zeros(len(overlap.points), np.int64)


def course(depth_mm, flush=False):
    looked = tuple(Sinking(depth_mm).overlap(t) for t in (0.0, 0.5, 1.0))
    return Course(Sinking(depth_mm, flush), looked, np.zeros(2), FORGIVEN_MM, 0.1)


@pytest.mark.parametrize(
    ("step", "depth_mm", "t"), [(-1, lambda t: 10.0 * t, 0.3), (1, lambda t: 10.0 * (1.0 - t), 0.7)]
)
def test_a_touch_begins_where_forgiveness_is_used_up_and_is_shown_there(step, depth_mm, t):
    touch = course(depth_mm).touch(0, step)
    assert touch.t == pytest.approx(t, abs=1e-4) and touch.firm.t == touch.t
    assert touch.firm.depth_mm[0] == pytest.approx(FORGIVEN_MM, abs=1e-3) and touch.points.tolist() == [0]
    assert course(depth_mm).touch(0, -step) is None, "never free at that end"


def test_where_nothing_is_seen_of_it_there_it_is_shown_where_it_was_looked_at():
    touch = course(lambda t: 10.0 * t, flush=True).touch(0, -1)
    assert touch.t == pytest.approx(0.3, abs=1e-4) and touch.firm.t == 0.5
