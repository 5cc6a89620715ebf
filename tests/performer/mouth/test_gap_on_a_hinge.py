"""The gap between two bars on a hinge: heights and shortest ways of turned rectangles, as formulas."""

import itertools

import numpy as np
import pytest

from dryfit.geometry.rigid import turn_about
from dryfit.model.brief import Brief
from dryfit.model.snapshot import Motion, Part, Snapshot
from dryfit.performer.fitting import Fitting
from dryfit.performer.mouth.lips import Lips
from mouth_shapes import FRONT, axis_yz, joined, landmarks, turned_yz

OPEN_DEG = 25.0
HALF, TALL, DEEP = 45.0, 8.0, 3.5
NEAR_MM = 4.5
"""Landmarks further apart belong to an open mouth, which would tilt the head."""
TIMES = (0.0, 0.02, 0.1, 0.34, 0.375, 0.7, 1.0)


def bar(low_y, front, rings=10, step_mm=0.5):
    """A closed bar along X, eight millimetres tall, its skin finely parted."""
    corners = np.array([(low_y, front), (low_y, front - DEEP), (low_y + TALL, front - DEEP), (low_y + TALL, front)])
    sides = [np.linspace(a, b, round(np.abs(b - a).max() / step_mm), endpoint=False) for a, b in
             zip(corners, np.roll(corners, -1, axis=0), strict=True)]  # fmt: skip
    outline = np.concatenate(sides)
    around, places = len(outline), np.linspace(-HALF, HALF, rings)
    points = np.concatenate([np.insert(outline, 0, x, axis=1) for x in places])
    a = np.arange((rings - 1) * around)
    b = a - a % around + (a + 1) % around
    return points, np.concatenate([np.stack([a, b, b + around], 1), np.stack([a, b + around, a + around], 1)])


def bars(gap_mm, behind_mm, times):
    """An upper bar that ends at half the gap, and a lower one so far behind it that turns, keyed at some times."""
    upper, lower = bar(gap_mm / 2, FRONT), bar(-gap_mm / 2 - TALL, FRONT - behind_mm)
    rest, faces = joined(upper, lower)
    marks = landmarks()
    marks["stomion_superius"] = np.array([0.0, gap_mm / 2, FRONT])
    marks["stomion_inferius"] = np.array([0.0, -gap_mm / 2, FRONT - np.clip(behind_mm, -NEAR_MM, NEAR_MM)])
    turns = [turn_about([0.0, *axis_yz()], [1.0, 0.0, 0.0], np.radians(OPEN_DEG * t)) for t in times]
    frames = np.stack([np.concatenate([upper[0], turn.apply(lower[0])]) for turn in turns])
    motion = Motion("jaw", times, {"Head": frames})
    return Snapshot("bars", parts=(Part("Head", "base", rest, faces),), landmarks=marks, motions={"jaw": motion})


def outlines(gap_mm, behind_mm, angle_deg):
    """The corners (up, front) of both bars, the lower one turned open, from the outer foot round its edge."""
    top = gap_mm / 2
    upper = np.array([(top + TALL, FRONT), (top, FRONT), (top, FRONT - DEEP), (top + TALL, FRONT - DEEP)])
    front = FRONT - behind_mm
    lower = np.array([(-top - TALL, front), (-top, front), (-top, front - DEEP), (-top - TALL, front - DEEP)])
    return upper, np.array([turned_yz(corner, angle_deg) for corner in lower])


def way_mm(one, other):
    """The shortest way between two outlines: from a corner of either to a stretch of the other."""

    def from_corners(corners, line):
        best = np.inf
        for start, end in itertools.pairwise(line):
            share = np.clip((corners - start) @ (end - start) / ((end - start) @ (end - start)), 0.0, 1.0)
            best = min(best, np.linalg.norm(corners - start - share[:, None] * (end - start), axis=1).min())
        return best

    return min(from_corners(one, other), from_corners(other, one))


def expected(gap_mm, behind_mm, t):
    upper, lower = outlines(gap_mm, behind_mm, OPEN_DEG * t)
    height, way = max(upper[:, 0].min() - lower[:, 0].max(), 0.0), way_mm(upper, lower)
    depth = min(np.sqrt(max(way**2 - height**2, 0.0)), 2.0)
    joined_mm = np.hypot(height, depth * (1 - min(height / (2 * depth), 1.0) ** 2) ** 2) if depth > 1e-9 else height
    return joined_mm, way


def profile_of(gap_mm, behind_mm, times=TIMES):
    fitting = Fitting(bars(gap_mm, behind_mm, times), Brief())
    return Lips(fitting, fitting.poses("jaw"), (fitting.base,)).profile


@pytest.mark.parametrize("behind_mm", [0.0, 3.0, -3.0, 9.0, -9.0])
def test_bars_at_several_offsets_follow_the_formula(behind_mm):
    """Over each other, half beside each other, and one wholly behind the other."""
    profile = profile_of(0.6, behind_mm)
    for t in TIMES:
        gap, way = expected(0.6, behind_mm, t)
        assert profile(t).gap_mm == pytest.approx(np.full(61, gap), abs=0.01)
        assert profile(t).travel_mm == pytest.approx(np.full(61, way), abs=0.01)


@pytest.mark.parametrize("behind_mm", [0.0, 3.0, 6.0, 9.0])
def test_the_gap_opens_step_by_step_with_the_jaw(behind_mm):
    times = np.linspace(0.0, 1.0, 201)
    gaps = np.array([profile.midline_mm for profile in map(profile_of(0.4, behind_mm, times), times)])
    steps = np.diff(gaps)
    assert (steps >= 0.0).all()
    assert (steps[1:-1] <= 1.5 * np.maximum(steps[:-2], steps[2:])).all()


def test_level_lips_of_which_one_stands_behind_have_not_met():
    level = profile_of(0.0, 9.0)(0.0)
    assert level.travel_mm == pytest.approx(np.full(61, 9.0 - DEEP), abs=0.01)
    assert level.behind_mm == pytest.approx(np.full(61, 9.0 - DEEP), abs=0.01)
    assert (level.gap_mm > 1.9).all() and not level.facing.any()


def test_a_hanging_lip_has_met_when_it_lies_on_the_other():
    """The upper bar hangs 3 mm in front of the lower one: near by as much as there is between them."""
    for between_mm in (0.05, 0.5, 1.4):
        apart = profile_of(-3.0, DEEP + between_mm)(0.0)
        assert apart.travel_mm == pytest.approx(np.full(61, between_mm), abs=0.01)
        assert apart.gap_mm == pytest.approx(np.full(61, between_mm), abs=0.01)
        assert not apart.facing.any()
    touching = profile_of(-3.0, DEEP - 0.2)(0.0)
    assert touching.travel_mm == pytest.approx(np.zeros(61))
    assert touching.gap_mm == pytest.approx(np.full(61, -0.2), abs=0.01)


@pytest.mark.parametrize("overlap_mm", [0.3, 0.7, 1.2])
def test_lips_that_overlap_are_met_by_as_much(overlap_mm):
    pressed = profile_of(-overlap_mm, 1.0)(0.0)
    assert pressed.gap_mm == pytest.approx(np.full(61, -overlap_mm), abs=0.01)
    assert pressed.travel_mm == pytest.approx(np.zeros(61))
    assert pressed.facing.all() and pressed.off_mm == (0.0, 0.0)


def test_where_lips_do_not_face_the_way_and_its_depth_are_said():
    apart = profile_of(0.0, 9.0)(0.02)
    way_mm_, behind_mm = apart.off_mm
    assert way_mm_ == pytest.approx(expected(0.0, 9.0, 0.02)[1], abs=0.01)
    assert 0.9 * way_mm_ < behind_mm <= way_mm_
