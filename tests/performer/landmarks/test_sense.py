"""Wrong sets of landmarks are caught and named: swapped, turned, moved off the head, one point astray."""

import numpy as np
import pytest
from test_proposal import HEADS, head

from dryfit.geometry import Surface
from dryfit.geometry.rigid import rotation_matrix
from dryfit.performer.landmarks.sense import landmark_doubts


@pytest.fixture(scope="module")
def scan():
    vertices, faces, marks = head(HEADS[0])
    return Surface(vertices, faces), marks


def words(marks, base):
    return " ".join(str(doubt.message) for doubt in landmark_doubts(marks, base))


def test_a_right_set_raises_no_doubt(scan):
    base, marks = scan
    assert landmark_doubts(marks, base) == ()


@pytest.mark.parametrize("name", HEADS[1:])
def test_other_faces_are_not_doubted(name):
    """A child's mouth is narrower than an adult's, which is noted; nothing is called wrong."""
    vertices, faces, marks = head(name)
    assert not [doubt for doubt in landmark_doubts(marks, Surface(vertices, faces)) if doubt.severity != "info"]


def test_left_and_right_swapped_throughout(scan):
    base, marks = scan
    other = {"left": "right", "right": "left"}
    swapped = {name: marks["_".join([*name.split("_")[:-1], other.get(name.split("_")[-1], name.split("_")[-1])])
               if name.split("_")[-1] in other else name] for name in marks}  # fmt: skip
    assert "swapped" in words(swapped, base)


def test_one_pair_swapped_is_named(scan):
    base, marks = scan
    wrong = {**marks, "cheilion_left": marks["cheilion_right"], "cheilion_right": marks["cheilion_left"]}
    assert "cheilion" in words(wrong, base) and "swapped" in words(wrong, base)


@pytest.mark.slow
@pytest.mark.parametrize("turn_deg", [(0, 0, 90), (0, 0, 180), (90, 0, 0)])
def test_a_set_turned_against_the_head_is_said(scan, turn_deg):
    base, marks = scan
    turn = rotation_matrix(np.radians(turn_deg))
    assert landmark_doubts({name: turn @ at for name, at in marks.items()}, base)


def test_one_point_astray_is_named(scan):
    base, marks = scan
    wrong = {**marks, "exocanthion_left": marks["exocanthion_left"] + [0.0, -60.0, 40.0]}
    found = landmark_doubts(wrong, base)
    assert found and "exocanthion_left" in words(wrong, base)
