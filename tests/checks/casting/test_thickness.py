"""Thickness on slabs, shells and caps with known figures; zones with known areas."""

import numpy as np
import pytest

import shapes
from dryfit.checks.casting import thickness
from dryfit.geometry import Surface
from dryfit.model.brief_reading import parse_brief
from dryfit.model.finding import Status, status_of
from dryfit.model.limits import Limits
from dryfit.performer.mobile_zones import mobile_zones
from head_marks import outcome, severities, snapshot

GROUND = shapes.sheet(200.0, 40)
FLAT_MARKS = {
    "cheilion_left": (25.0, 0, 0), "cheilion_right": (-25.0, 0, 0),
    "labiale_superius": (0, 0, 0), "labiale_inferius": (0, 0, 0),
    "endocanthion_left": (60.0, 60, 0), "exocanthion_left": (90.0, 60, 0), "endocanthion_right": (-60.0, 60, 0),
    "exocanthion_right": (-90.0, 60, 0), "alare_left": (60.0, -60, 0), "alare_right": (-60.0, -60, 0),
    "tragion_left": (225.0, 200.0, 0.0), "tragion_right": (-225.0, 200.0, 0.0),
}  # fmt: skip
"""Lips as one line of 50 mm through the middle; eyes, wings of the nose and cheeks far off it."""
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


LID_MARKS = ALL_MARKS | {
    "endocanthion_left": np.array([-15.0, 25, 0]), "exocanthion_left": np.array([15.0, 25, 0]),
}  # fmt: skip


def over_lid(thick_mm, material="silicone"):
    """An even piece of 30 by 15 mm, over nothing but the left lids."""
    vertices, faces = shapes.sheet(1.0, 30)
    mesh = vertices * [30.0, 15.0, 0.0] + [0.0, 25.0, thick_mm], faces
    return told(mesh, material, LID_MARKS)


@pytest.mark.parametrize(("thick_mm", "severity"), [(0.95, []), (1.2, ["review"]), (2.1, ["fail"])])
def test_a_lid_bears_less_than_a_lip(thick_mm, severity):
    found = over_lid(thick_mm)
    assert [str(each.severity) for each in found.findings if each.region == "left lids"] == severity
    assert found.measures["max_lid_mm"] == pytest.approx(thick_mm, abs=1e-6)
    assert found.measures["thick_area_mm2"] == pytest.approx(450.0 * bool(severity), rel=1e-6)


CHEEK_MARKS = ALL_MARKS | {
    "cheilion_left": np.array([-20.0, 0, 0]), "tragion_left": np.array([80.0, 0, 0]),
    "cheilion_right": np.array([-60.0, -90, 0]), "tragion_right": np.array([0.0, -90, 0]),
    "labiale_superius": np.array([-60.0, -80, 0]), "labiale_inferius": np.array([-60.0, -80, 0]),
    "alare_left": np.array([-60.0, 80, 0]), "alare_right": np.array([-60.0, 90, 0]),
}  # fmt: skip
"""Cheek from (0, 0) to (30, 0): 0.2 to 0.5 of the 100 mm from corner to ear."""


def over_cheek(thick_mm, material):
    vertices, faces = shapes.sheet(1.0, 30)
    found = told((vertices * [30.0, 20.0, 0.0] + [15.0, 0.0, thick_mm], faces), material, CHEEK_MARKS)
    return found, [each for each in found.findings if each.region == "left cheek"]


@pytest.mark.parametrize(
    ("material", "stiffness_kpa"), [("silicone", 200.0), ("foam_latex", 40.0), ("gelatin", 80.0), ("urethane", 300.0)]
)
def test_over_a_cheek_a_softer_piece_may_be_as_thick_as_bends_no_harder(material, stiffness_kpa):
    """6 mm of ordinary silicone, 10 to fail: of another the thickness with the same E t3."""
    for level_mm, under, over in ((6.0, [], ["review"]), (10.0, ["review"], ["fail"])):
        same_mm = level_mm * (200.0 / stiffness_kpa) ** (1 / 3)
        for thick_mm, severity in ((0.98 * same_mm, under), (1.02 * same_mm, over)):
            _, found = over_cheek(thick_mm, material)
            assert [str(each.severity) for each in found] == severity
            for finding in found:
                assert finding.value == pytest.approx(thick_mm, abs=0.01)
    assert found[0].limit == pytest.approx(same_mm, abs=0.01)


def test_six_millimetres_of_encapsulated_gel_move_in_a_cheek_and_rigid_ones_do_not():
    found, judged = over_cheek(6.0, "silicone_gel")
    assert judged == [] and found.measures["max_cheek_mm"] == pytest.approx(6.0)
    _, judged = over_cheek(6.0, "printed_resin")
    assert [str(each.severity) for each in judged] == ["fail"]


def test_the_cheek_lies_on_the_skin_and_not_on_the_line_below_it():
    """On a sphere of 100 mm the line from mouth to ear runs below it; its zone is drawn about the skin over it."""
    at = lambda deg, up: 100.0 * np.array([np.sin(np.radians(deg)), -np.cos(np.radians(deg)), up])  # noqa: E731
    marks = {"cheilion_left": at(20, -0.3), "tragion_left": at(90, 0), "tragion_right": at(-90, 0)}
    zones, _ = mobile_zones(marks, Limits(), Surface(*shapes.icosphere(6)))
    (cheek,) = [zone for zone in zones if zone.name == "left cheek"]
    assert np.linalg.norm(cheek.chain_mm, axis=1) == pytest.approx(100.0, abs=0.1)
    straight = np.linalg.norm(marks["cheilion_left"] + 0.5 * (marks["tragion_left"] - marks["cheilion_left"]))
    assert straight < 87.0


def test_an_encapsulated_piece_is_at_least_both_its_skins():
    brief = parse_brief("[materials.silicone_gel]\nskin_mm = 0.4")
    assert severities(told(skin(pit(0.6, 12.0)), "silicone_gel", brief=brief))[0] == "fail"
    assert severities(told(skin(pit(0.6, 12.0)), "silicone_gel")) == ["review"]


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
