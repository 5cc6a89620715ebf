"""The performer: fine enough, lips together, landmarks in place, teeth that turn as one body."""

import numpy as np
import pytest

from dryfit.demo_door import demo_module
from dryfit.geometry import Surface
from dryfit.model.snapshot import LANDMARKS

module = demo_module("performer")
lips = demo_module("lips")


@pytest.fixture(scope="module")
def performer():
    return module.performer()


def lip_faces(performer, which):
    chosen = performer.areas[f"dryfit_lip_{which}"] > 0
    return performer.faces[chosen[performer.faces].all(axis=1)]


def test_triangles_are_enough_and_not_too_many(performer):
    assert 40_000 <= len(performer.faces) <= 160_000


def test_lip_edges_are_fine(performer):
    faces = np.concatenate([lip_faces(performer, "upper"), lip_faces(performer, "lower")])
    corners = performer.vertices_mm[faces]
    lengths = np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=2)
    assert np.median(lengths) < 0.8


def test_lips_meet_without_crossing(performer):
    columns = np.linspace(-20.0, 20.0, 81)
    gaps = lips.gap_by_column(
        performer.vertices_mm, lip_faces(performer, "upper"), lip_faces(performer, "lower"), columns
    )
    assert gaps.min() > 0.0
    assert gaps.max() < 0.1


def test_every_landmark_is_there_and_on_the_head(performer):
    assert set(performer.landmarks) == set(LANDMARKS)
    skin = Surface(performer.vertices_mm, performer.faces)
    points = np.array([point for name, point in performer.landmarks.items() if not name.startswith("pupil")])
    assert skin.closest(points).distance_mm.max() < 0.5


def test_left_is_the_performers_left(performer):
    for name, point in performer.landmarks.items():
        if name.endswith("_left"):
            assert point[0] > 5.0, name
            assert performer.landmarks[name.replace("left", "right")][0] == pytest.approx(-point[0], abs=0.5)


def test_face_measures_are_those_of_adults(performer):
    """Means of adults, M / F: Farkas 1994 and Zhuang & Bradtmiller 2005 (from memory), four standard deviations."""
    marks = performer.landmarks

    def apart(one, other):
        return np.linalg.norm(marks[one] - marks[other])

    assert apart("endocanthion_left", "endocanthion_right") == pytest.approx(32.5, abs=10)
    assert apart("alare_left", "alare_right") == pytest.approx(33.5, abs=8)
    assert apart("cheilion_left", "cheilion_right") == pytest.approx(51.0, abs=14)
    assert apart("subnasale", "gnathion") == pytest.approx(68.0, abs=16)
    assert apart("pupil_left", "pupil_right") == pytest.approx(63.0, abs=12)


def test_lower_teeth_turn_as_a_rigid_body(performer):
    points = performer.lower.vertices_mm[::97]
    turned = module.jaw_turned(points, 0.7)
    distances = [np.linalg.norm(p[:, None] - p[None], axis=2) for p in (points, turned)]
    assert np.abs(distances[0] - distances[1]).max() < 1e-9


def test_incisor_travels_the_chord_of_its_circle(performer):
    """Chord 2 R sin(angle / 2), R the distance from the axis."""
    tip = performer.lower.tooth(31)[performer.lower.tooth(31)[:, 2].argmax()]
    radius = np.linalg.norm((tip - module.HINGE_MM)[1:])
    travelled = np.linalg.norm(module.jaw_turned(tip[None], 1.0)[0] - tip)
    assert travelled == pytest.approx(2 * radius * np.sin(np.radians(24.4) / 2), abs=1e-9)
    assert module.jaw_turned(tip[None], 1.0)[0, 2] < tip[2]


def test_teeth_stand_clear_of_the_lining(performer):
    skin = Surface(performer.vertices_mm, performer.faces)
    for row in (performer.upper, performer.lower):
        assert len(skin.crossings(Surface(row.vertices_mm, row.faces))) == 0
        assert skin.clearance_mm(row.vertices_mm).min() > 0.1


def test_subdividing_a_pose_is_posing_the_subdivision():
    head = demo_module("head").load_head().part("skin")
    subdivide = demo_module("subdivision").catmull_clark
    shape = head.shapes_mm["mouthSmileLeft"]
    both, _ = subdivide(np.concatenate([head.vertices_mm, shape], axis=1), head.quads)
    posed, _ = subdivide(head.vertices_mm + shape, head.quads)
    assert np.abs(both[:, :3] + both[:, 3:] - posed).max() < 1e-9
