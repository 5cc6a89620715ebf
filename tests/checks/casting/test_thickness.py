"""Thickness on slabs, shells and caps with known figures; zones with known areas."""

import numpy as np
import pytest

import shapes
from dryfit.checks.casting import thickness
from dryfit.model.brief_reading import parse_brief
from dryfit.model.finding import Status, status_of
from head_marks import outcome, severities, snapshot

GROUND = shapes.sheet(200.0, 40)
FLAT_MARKS = {
    "cheilion_left": (25.0, 0, 0), "cheilion_right": (-25.0, 0, 0),
    "labiale_superius": (0, 0, 0), "labiale_inferius": (0, 0, 0),
    "endocanthion_left": (60.0, 60, 0), "exocanthion_left": (90.0, 60, 0), "endocanthion_right": (-60.0, 60, 0),
    "exocanthion_right": (-90.0, 60, 0), "alare_left": (60.0, -60, 0), "alare_right": (-60.0, -60, 0),
}  # fmt: skip
"""Lips as one line of 50 mm through the middle; eyes and wings of the nose far off it."""
ALL_MARKS = {name: np.array(point) for name, point in FLAT_MARKS.items()}


def skin(height, width_mm=100.0, steps=100):
    vertices, faces = shapes.sheet(width_mm, steps)
    return np.column_stack([vertices[:, :2], height(vertices[:, 0], vertices[:, 1])]), faces


def shell(height, steps=100):
    sheet = shapes.sheet(100.0, steps)
    return shapes.slab(*sheet, height(sheet[0][:, 0], sheet[0][:, 1]))


def pit(depth_mm, radius_mm, around_mm=2.0):
    return lambda x, y: np.where(np.hypot(x, y) < radius_mm, depth_mm, around_mm)


def told(mesh, material="silicone", landmarks=ALL_MARKS, brief=None):
    return outcome(thickness, snapshot(GROUND, ("Piece", "appliance", mesh, material), landmarks=landmarks), brief)


@pytest.mark.parametrize("make", [skin, shell])
def test_an_even_piece_is_as_thick_as_it_is(make):
    found = told(make(lambda x, y: 2.5 + 0 * x))
    assert found.measures["min_interior_mm"] == pytest.approx(2.5, abs=1e-6)
    assert found.measures["max_lip_mm"] == pytest.approx(2.5, abs=1e-6)
    assert severities(found) == []
    assert not found.reason


def test_a_concentric_shell_is_as_thick_as_the_difference_of_its_radii():
    outer, faces = shapes.icosphere(5, 106.0)
    upper = faces[(outer[faces][:, :, 2] > 0).all(axis=1)]
    count = len(outer)
    start, end = shapes.open_edges(upper).T
    walls = [np.stack([end, start, start + count], 1), np.stack([end, start + count, end + count], 1)]
    mesh = np.concatenate([outer, outer / 106 * 102]), np.concatenate([upper, upper[:, ::-1] + count, *walls])
    shot = snapshot(shapes.icosphere(6), ("Shell", "appliance", mesh, "silicone"), landmarks=ALL_MARKS)
    assert outcome(thickness, shot).measures["min_interior_mm"] == pytest.approx(4.0, abs=0.06)


@pytest.mark.parametrize("make", [skin, shell])
@pytest.mark.parametrize(("depth_mm", "severity"), [(0.1, "fail"), (0.3, "review"), (0.6, None)])
def test_a_wide_thin_place_fails_under_the_least_wall_and_is_reviewed_under_the_safe_one(make, depth_mm, severity):
    """Silicone: 0.15 and 0.5 mm."""
    found = told(make(pit(depth_mm, 12.0)))
    assert severities(found)[:1] == ([severity] if severity else [])
    assert found.measures["min_interior_mm"] == pytest.approx(depth_mm, abs=1e-6)


def test_the_thin_area_is_that_of_its_disc():
    """pi r2, half a grid step of slope aside: the level is crossed on the way up to 2 mm."""
    found = told(skin(lambda x, y: np.clip(np.hypot(x, y) - 14.0, -0.1, 1.9) * 0.5 + 0.1, steps=200))
    radius = 14.1  # height 0.15 mm: (r - 14) / 2 + 0.1
    assert found.measures["thin_area_mm2"] == pytest.approx(np.pi * radius**2, rel=0.01)


def test_a_groove_between_thick_ridges_is_held_by_them():
    narrow = told(skin(lambda x, y: np.where(np.abs(x) < 1.2, 0.3, 2.0)))
    wide = told(skin(lambda x, y: np.where(np.abs(x) < 8.0, 0.3, 2.0)))
    assert severities(narrow) == []
    assert severities(wide) == ["review"]
    assert wide.measures["thin_sheet_area_mm2"] == pytest.approx((16 - 2 * 2.0 - 1) * 70, rel=0.15)


def test_a_thin_rim_is_the_edges_business():
    found = told(skin(lambda x, y: np.minimum(0.1 + 0.2 * (50 - np.maximum(abs(x), abs(y))), 2.0)))
    assert found.measures["thin_area_mm2"] == 0.0
    assert severities(found) == []


def test_the_lip_zone_is_a_band_of_known_area():
    """A line of 50 mm with 9 mm about it: 50 x 18 + pi 9^2."""
    lips = {name: point for name, point in ALL_MARKS.items() if name.startswith(("cheilion", "labiale"))}
    found = told(skin(lambda x, y: 4.0 + 0 * x), landmarks=lips)
    assert found.measures["thick_area_mm2"] == pytest.approx(50 * 18 + np.pi * 81, rel=0.01)
    assert severities(found) == ["review", "review"]
    assert {finding.region for finding in found.findings} == {"upper lip", "lower lip"}
    assert severities(told(skin(lambda x, y: 6.5 + 0 * x), landmarks=lips)) == ["fail", "fail"]


def test_the_zone_follows_the_brief():
    found = told(skin(lambda x, y: 4.0 + 0 * x), brief=parse_brief("[limits]\nmobile_thickness_review_mm = 5"))
    assert severities(found) == []


def test_missing_landmarks_are_named_and_the_rest_is_still_judged():
    lips_only = {name: point for name, point in ALL_MARKS.items() if name.startswith(("cheilion", "labiale"))}
    found = told(skin(lambda x, y: 2.0 + 0 * x), landmarks=lips_only)
    assert "endocanthion_left" in found.reason
    assert "cheilion" not in found.reason
    assert status_of(severities(found), found.reason) == Status.NOT_CHECKED
    failing = told(skin(pit(0.1, 12.0)), landmarks=lips_only)
    assert failing.reason
    assert status_of(severities(failing), failing.reason) == Status.FAIL


def test_a_stiffer_material_wants_more():
    assert severities(told(skin(pit(0.3, 12.0)), "gelatin")) == ["fail"]


def test_a_turned_and_shifted_design_measures_the_same():
    rng = np.random.default_rng(8)
    turn = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))
    moved = lambda mesh: (mesh[0] @ turn.T + [3.0, -40.0, 12.0], mesh[1])  # noqa: E731
    onto = {
        name: np.array([x, y, np.sqrt(1e4 - x * x - y * y)]) for name, (x, y, _) in FLAT_MARKS.items() if abs(x) < 70
    }
    cap = shapes.cap(6, 40.0, thickness_mm=lambda arc: np.minimum(0.1 * arc, 3.5))[:2]
    before, after = (
        outcome(thickness, snapshot(place(shapes.icosphere(5)), ("Cap", "appliance", place(cap), "silicone"),
                                    landmarks={name: place((point, None))[0] for name, point in onto.items()})).measures
        for place in (lambda mesh: mesh, moved)
    )  # fmt: skip
    assert before["thick_area_mm2"] > 100.0
    for name, value in after.items():
        assert value == pytest.approx(before[name], rel=1e-6, abs=1e-6, nan_ok=True)
