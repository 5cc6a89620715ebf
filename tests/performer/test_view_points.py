"""Where a design is looked at from: turns about the upright, named cameras wherever they stand, others before the face."""

from types import SimpleNamespace

import numpy as np
import pytest

from dryfit.model.brief import Views
from dryfit.model.snapshot import Camera
from dryfit.performer.head_frame import HeadFrame
from dryfit.performer.views import angle_name, angle_words, missing_cameras, view_points

FRAME = HeadFrame.from_landmarks({})
TARGET = np.array([0.0, -90.0, 10.0])
AHEAD, BESIDE, BEHIND = (Camera(name, place) for name, place in
                         (("ShotA", (0.0, -800.0, 0.0)), ("ShotB", (500.0, -90.0, 0.0)), ("Back", (0.0, 500.0, 0.0))))  # fmt: skip
SCENE = SimpleNamespace(cameras=(AHEAD, BESIDE, BEHIND))


def names(**views):
    return [
        each.name for each in view_points(Views(**{"angles_deg": (), "cameras": (), **views}), SCENE, FRAME, TARGET)
    ]


@pytest.mark.parametrize(
    ("angle_deg", "name", "words", "way"),
    [(0.0, "0", "the front", (0.0, -1.0)), (90.0, "+90", "90° from the performer's left", (1.0, 0.0)),
     (-30.0, "-30", "30° from the performer's right", (-0.5, -(3**0.5) / 2))],
)  # fmt: skip
def test_a_turn_stands_so_far_from_the_target(angle_deg, name, words, way):
    (point,) = view_points(Views(angles_deg=(angle_deg,), cameras=(), distance_mm=500.0), SCENE, FRAME, TARGET)
    assert (point.name, point.words) == (name, words) == (angle_name(angle_deg), angle_words(angle_deg))
    np.testing.assert_allclose(point.eye_mm, TARGET + 500.0 * np.array([*way, 0.0]), atol=1e-9)


@pytest.mark.parametrize(
    ("cameras", "chosen"),
    [((), []), (("*",), ["ShotA"]), (("Back",), ["Back"]), (("*", "Back"), ["ShotA", "Back"]),
     (("Shot*",), ["ShotA", "ShotB"]), (("shot*",), []), (("Gone",), [])],
)  # fmt: skip
def test_named_cameras_are_taken_wherever_they_stand_and_every_other_before_the_face(cameras, chosen):
    assert names(cameras=cameras) == chosen


def test_turns_come_before_cameras():
    assert names(angles_deg=(30.0, 0.0), cameras=("*",)) == ["+30", "0", "ShotA"]


def test_a_camera_that_is_named_and_not_there_is_missing_and_a_pattern_never_is():
    assert missing_cameras(Views(cameras=("ShotA", "Gone", "Wide*", "*")), SCENE.cameras) == ("Gone",)
