"""Landmarks as no head has them are said to be impossible; right ones are not, however far the jaw is open."""

import numpy as np
import pytest
from open_heads import TURNING, shipped_head, turned_head
from test_proposal import HEADS, head

from dryfit.geometry import Surface
from dryfit.performer.landmarks.sense import landmark_doubts

EVERY_HEAD = range(len(HEADS))


@pytest.fixture(scope="module")
def scan():
    vertices, faces, marks = head(HEADS[0])
    return Surface(vertices, faces), marks


def impossible(marks, base):
    """The names in doubts that no head allows."""
    doubts = landmark_doubts(marks, base)
    assert all(np.isfinite(doubt.value_mm) and doubt.message and doubt.remedy for doubt in doubts)
    return {name for doubt in doubts if doubt.impossible for name in doubt.names}


def grave(marks, base):
    return [doubt.message for doubt in landmark_doubts(marks, base) if doubt.severity != "info"]


@pytest.mark.parametrize("share", [0.0, 0.3, 0.7, 1.0])
def test_right_landmarks_on_a_mouth_baked_open_are_not_doubted(share):
    base, marks = shipped_head(share)
    assert not grave(marks, base)


@pytest.mark.parametrize("number", EVERY_HEAD)
@pytest.mark.parametrize(("open_deg", "deg_per_mm"), [(10.0, 1.5), (35.0, 1.5), (15.0, TURNING), (30.0, TURNING)])
def test_right_landmarks_are_not_doubted_with_the_jaw_anywhere_up_to_35_degrees(number, open_deg, deg_per_mm):
    base, marks = turned_head(HEADS[number], open_deg, deg_per_mm)
    assert not grave(marks, base)


def test_an_open_mouth_makes_no_face_too_long():
    base, marks = turned_head(HEADS[0], 35.0)
    assert not [doubt for doubt in landmark_doubts(marks, base) if "gnathion" in doubt.names]


@pytest.mark.parametrize("factor", [10.0, 1.3, 0.001])
def test_pupils_too_far_out_or_in_metres(scan, factor):
    base, marks = scan
    pupils = {name: marks[name] * [factor, 1.0, 1.0] for name in ("pupil_left", "pupil_right")}
    assert {"pupil_left", "pupil_right"} <= impossible({**marks, **pupils}, base)


@pytest.mark.parametrize("name", ["pupil_left", "pupil_right"])
def test_one_pupil_in_metres(scan, name):
    base, marks = scan
    assert name in impossible({**marks, name: 0.001 * marks[name]}, base)


@pytest.mark.parametrize("count", [2, 4, 22])
def test_everything_at_the_origin(scan, count):
    base, marks = scan
    nothing = {name: np.zeros(3) for name in list(marks)[:count]}
    assert set(nothing) == impossible(nothing, base)


@pytest.mark.parametrize("factor", [0.001, 0.1, 25.4])
def test_a_set_in_another_unit(scan, factor):
    base, marks = scan
    assert set(marks) == impossible({name: factor * point for name, point in marks.items()}, base)


@pytest.mark.parametrize("others", [True, False])
@pytest.mark.parametrize("pair", ["tragion", "cheilion", "exocanthion", "alare"])
def test_both_sides_on_one_spot(scan, pair, others):
    base, marks = scan
    kept = marks if others else {name: marks[name] for name in ("sellion", "gnathion")}
    wrong = {**kept, f"{pair}_left": marks[f"{pair}_left"], f"{pair}_right": marks[f"{pair}_left"]}
    assert {f"{pair}_left", f"{pair}_right"} & impossible(wrong, base)


def test_left_and_right_exchanged(scan):
    base, marks = scan
    pairs = [name.removesuffix("_left") for name in marks if name.endswith("_left")]
    wrong = dict(marks)
    for pair in pairs:
        wrong[f"{pair}_left"], wrong[f"{pair}_right"] = marks[f"{pair}_right"], marks[f"{pair}_left"]
    assert {"tragion_left", "tragion_right"} <= impossible(wrong, base)
    wrong = {**marks, "tragion_left": marks["tragion_right"], "tragion_right": marks["tragion_left"]}
    assert {"tragion_left", "tragion_right"} <= impossible(wrong, base)


@pytest.mark.parametrize("name", ["gnathion", "tragion_left", "stomion_inferius", "pronasale", "vertex_top"])
def test_one_point_metres_off(scan, name):
    base, marks = scan
    assert name in impossible({**marks, name: marks[name] + [0.0, 3000.0, 0.0]}, base)
    few = {other: marks[other] for other in ("sellion", "gnathion", name)}
    assert name in impossible({**few, name: marks[name] + [0.0, 3000.0, 0.0]}, base)


def test_all_points_metres_off(scan):
    base, marks = scan
    assert impossible({name: point + [0.0, 3000.0, 0.0] for name, point in marks.items()}, base)


@pytest.mark.parametrize("open_deg", [12.0, 30.0])
def test_margins_of_the_lips_exchanged(open_deg):
    base, marks = turned_head(HEADS[0], open_deg)
    upper, lower = marks["stomion_superius"], marks["stomion_inferius"]
    wrong = {**marks, "stomion_superius": lower, "stomion_inferius": upper}
    assert {"stomion_superius", "stomion_inferius"} <= impossible(wrong, base)


@pytest.mark.parametrize("number", EVERY_HEAD)
@pytest.mark.parametrize("lip", ["superius", "inferius"])
def test_both_margins_on_one_lip_of_an_open_mouth(number, lip):
    base, marks = turned_head(HEADS[number], 25.0)
    margin, red = marks[f"stomion_{lip}"], marks[f"labiale_{lip}"]
    upper, lower = (margin, red) if lip == "inferius" else (red, margin)
    for pair in ((margin, margin), (upper, lower)):
        wrong = {**marks, "stomion_superius": pair[0], "stomion_inferius": pair[1]}
        assert {"stomion_superius", "stomion_inferius"} <= impossible(wrong, base)


def test_both_margins_on_the_red_of_one_shut_lip(scan):
    base, marks = scan
    chin = base.closest(0.5 * (marks["labiale_inferius"] + marks["gnathion"])[None]).point[0]
    wrong = {**marks, "stomion_superius": marks["stomion_inferius"], "stomion_inferius": marks["labiale_inferius"]}
    assert "stomion_inferius" in impossible({**wrong, "labiale_inferius": chin}, base)


@pytest.mark.parametrize("value", [np.nan, np.inf])
def test_coordinates_that_are_no_numbers(scan, value):
    base, marks = scan
    doubts = landmark_doubts({**marks, "gnathion": np.full(3, value)}, base)
    assert [doubt.names for doubt in doubts if doubt.impossible] == [("gnathion",)]


def test_a_single_landmark_and_none_at_all(scan):
    base, marks = scan
    assert landmark_doubts({}, base) == ()
    assert landmark_doubts({"sellion": marks["sellion"]}, base) == ()
    assert landmark_doubts({"sellion": marks["sellion"]}) == ()
