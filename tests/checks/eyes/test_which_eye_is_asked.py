"""Which lids can be read, which hardware is a lens, and which line of a curve is the bare face's."""

from dataclasses import replace

import numpy as np
import pytest

from ball_lids import APEX, face
from dryfit.checks.eyes import blink, sightline
from dryfit.model.brief import Brief
from dryfit.model.snapshot import Part
from dryfit.performer.fitting import Fitting
from dryfit.performer.head_frame import HeadFrame
from dryfit.performer.lids import Lids
from shapes import icosphere

SHOT = face()


def lids(shot, side="left"):
    fitting = Fitting(shot, Brief())
    return blink.lids_of(fitting, side, HeadFrame.from_landmarks(shot.landmarks))


def test_lids_are_read_where_there_is_a_blink_an_eye_and_what_marks_them():
    assert isinstance(lids(SHOT), Lids)
    assert isinstance(lids(face(eyeball=False, groups=True)), Lids)


@pytest.mark.parametrize(
    ("shot", "side", "words"),
    [(replace(SHOT, motions={}), "left", "There is no blink."), (SHOT, "right", "The right eye was not found"),
     (face(eyeball=False), "left", "The left lids were not read")],
)  # fmt: skip
def test_lids_that_cannot_be_read_say_why(shot, side, words):
    why = lids(shot, side)
    assert isinstance(why, str) and why.startswith(words)


def test_what_lies_on_the_eye_is_a_lens_and_what_hangs_beside_it_is_none():
    vertices, faces = icosphere(2, 12.3)
    near = faces[(np.linalg.norm(vertices[faces] - [0.0, -12.3, 0.0], axis=2) < 5.0).all(axis=1)]
    used, cut = np.unique(near, return_inverse=True)
    cap = vertices[used] + APEX + [0.0, 12.0, 0.0], cut.reshape(-1, 3)
    lens, stud = Part("Lens", "hardware", *cap), Part("Stud", "hardware", cap[0] + [0.0, 0.0, 60.0], cap[1])
    one = blink.Blink("left", 1.0, 0.0, 0.0, None, np.zeros((2, 2)), np.zeros(3), None)
    told = [*blink._lens(one, Fitting(face(lens, stud), Brief()))]
    assert [(each.object, str(each.severity)) for each in told] == [("Lens", "info")]
    assert [*blink._lens(replace(one, side="right"), Fitting(face(lens, stud), Brief()))] == []


def test_the_bare_faces_line_says_that_it_is_bare():
    ends = np.full(len(sightline.MERIDIANS_DEG), 90.0)
    eye = blink.find_eye(Fitting(SHOT, Brief()), "left", HeadFrame.from_landmarks(SHOT.landmarks))
    view = sightline.View(eye, None, ends, ends - 20.0, np.zeros((4, 1), bool), np.zeros((4, 1), bool), None)
    curves = dict(sightline._curves([view]))
    assert {name: (curve.y[0], "bare" in curve.y_label) for name, curve in curves.items()} == {
        "field_left_eye": (70.0, False), "bare_field_left_eye": (90.0, True),
    }  # fmt: skip
