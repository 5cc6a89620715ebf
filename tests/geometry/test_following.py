"""Following strokes gives what measuring everything again gives."""

import numpy as np
import pytest

from dryfit.geometry import Surface
from dryfit.geometry.following import Following
from shapes import sheet


def hollowed(points, depth_mm):
    after = points.copy()
    after[:, 2] -= depth_mm * np.clip(1.0 - (points[:, 0] ** 2 + points[:, 1] ** 2) / 100.0, 0, None)
    return after


@pytest.fixture
def following():
    base, (points, faces) = sheet(120.0, 60), sheet(60.0, 120, lambda x, y: 1.0 + 0 * x)
    return Following(Surface(*base), points, faces, np.arange(len(faces)), 0.2)


def test_a_stroke_has_its_depth_and_area(following):
    """A paraboloid 1 - 3 (1 - r2/100) is 0.2 mm below at r2 = 60; its area by the closed formula."""
    after = hollowed(following.vertices_mm, 3.0)
    moved = np.flatnonzero((after != following.vertices_mm).any(axis=1))
    followed = following.follow(moved, after[moved])
    slope = 2.0 * 3.0 / 100.0
    area = np.pi / (1.5 * slope**2) * ((1 + slope**2 * 60.0) ** 1.5 - 1)
    assert followed.moved == len(moved)
    assert followed.depth_mm == pytest.approx(2.0, abs=1e-9)
    assert followed.area_mm2 == pytest.approx(area, rel=0.01)


def test_many_small_strokes_equal_one_fresh_start(following):
    random = np.random.default_rng(7)
    for _ in range(20):
        moved = random.choice(len(following.vertices_mm), 300, replace=False)
        following.follow(moved, following.vertices_mm[moved] + random.normal(0, 0.5, (300, 3)))
    fresh = Following(following.base, following.vertices_mm, following.faces, np.arange(len(following.faces)), 0.2)
    assert np.array_equal(fresh.clearance_mm, following.clearance_mm)
    assert fresh.verdict().area_mm2 == pytest.approx(following.verdict().area_mm2, rel=1e-12)
    assert fresh.verdict().depth_mm == following.verdict().depth_mm


def test_undoing_a_stroke_undoes_its_verdict(following):
    before = following.vertices_mm.copy()
    after = hollowed(before, 3.0)
    moved = np.flatnonzero((after != before).any(axis=1))
    assert following.follow(moved, after[moved]).area_mm2 > 0.0
    followed = following.follow(moved, before[moved])
    assert (followed.depth_mm, followed.area_mm2) == (0.0, 0.0)


def test_nothing_moved_measures_nothing(following):
    assert following.follow(np.zeros(0, np.int64), np.zeros((0, 3))).moved == 0
