"""The stored head against figures measured on its source before it was stored."""

import numpy as np
import pytest

from dryfit.demo_door import demo_module

head = demo_module("head")


@pytest.fixture(scope="module")
def stored():
    return head.load_head()


def test_counts(stored):
    assert len(stored.vertices_mm) == 4914
    assert len(stored.quads) == 4840
    assert len(stored.shapes_mm) == 52
    assert set(stored.part_names) == {"skin", "eye_L", "eye_R", "teeth_lower", "teeth_upper", "tongue"}


def test_size_is_that_of_a_head(stored):
    skin = stored.part("skin").vertices_mm
    crown = skin[:, 2].max()
    chin = skin[1759, 2]
    assert crown - chin == pytest.approx(213.6, abs=0.1)
    skull = np.abs(skin[skin[:, 2] > 46.0][:, 0])  # above the ears
    assert 2.0 * skull.max() == pytest.approx(140.0, abs=0.5)


def test_face_looks_forward_and_left_is_left(stored):
    left_eye, right_eye = (stored.part(name).vertices_mm.mean(axis=0) for name in ("eye_L", "eye_R"))
    assert left_eye[0] > 20.0 > -20.0 > right_eye[0]
    nose = stored.vertices_mm[297]
    assert nose[1] < left_eye[1]


def test_jaw_shape_is_a_turn_of_24_4_degrees_about_the_stated_axis(stored):
    performer = demo_module("performer")
    teeth = stored.part("teeth_lower")
    opened = teeth.vertices_mm + teeth.shapes_mm["jawOpen"]
    missed = np.linalg.norm(performer.jaw_turned(teeth.vertices_mm, 1.0) - opened, axis=1)
    assert np.sqrt((missed**2).mean()) < 0.5


def test_lips_part_by_34_mm(stored):
    skin = stored.part("skin")
    upper, lower = 520, 523
    opened = skin.vertices_mm + skin.shapes_mm["jawOpen"]
    assert opened[upper, 2] - opened[lower, 2] == pytest.approx(34.0, abs=1.0)


def test_licence_notice_lies_beside_the_head():
    notice = head.STORED_HEAD.with_name("makehuman_head_cc0.LICENSE.txt").read_text()
    assert "CC0" in notice
