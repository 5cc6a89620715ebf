"""Which part of a piece stands above the line between the corners of an eye and which below; what lies beside it."""

from types import SimpleNamespace

import numpy as np
import pytest

from dryfit.checks.eyes import lid_contact
from dryfit.model.snapshot import Part
from dryfit.performer.head_frame import HeadFrame

FRAME = HeadFrame.from_landmarks({})
LINE = np.array([[10.0, 50.0, 5.0], [30.0, 48.0, 9.0]])
"""Inner and outer corner of a left eye (left, front, up): it rises by 4 mm over 20 mm outward."""
LITTLE = 1e-2


@pytest.fixture
def sides(monkeypatch):
    """Say for one speck of a piece, by its place (left, front, up), whether it is above and whether it is below."""
    monkeypatch.setattr(lid_contact, "worn_face_ids", lambda part, fitting: np.array([0]))
    base = SimpleNamespace(closest=lambda points: SimpleNamespace(point=points))
    middle = FRAME.points(LINE.mean(axis=0))
    lids = SimpleNamespace(eye=SimpleNamespace(entrance_mm=middle), fitting=SimpleNamespace(base_surface=base))

    def asked(left, front, up):
        corners = FRAME.points(np.array([left, front, up])) + 1e-4 * np.eye(3)
        part = Part("Piece", "appliance", corners, np.array([[0, 1, 2]]))
        above, below = lid_contact._sides(part, lids, FRAME, LINE)
        return bool(above[0]), bool(below[0])

    return asked


ABOVE, BELOW, BESIDE = (True, False), (False, True), (False, False)


@pytest.mark.parametrize(("left", "line_up"), [(14.0, 5.8), (20.0, 7.0), (26.0, 8.2)])
def test_the_line_slants_as_the_eye_does(sides, left, line_up):
    assert sides(left, 50.0, line_up + LITTLE) == ABOVE
    assert sides(left, 50.0, line_up - LITTLE) == BELOW


@pytest.mark.parametrize("up", [6.0, 8.0])
def test_what_stands_at_the_corners_or_behind_them_is_beside_the_opening(sides, up):
    share = lid_contact.CORNER_SHARE
    for at, inside in (
        (share - LITTLE, False),
        (share + LITTLE, True),
        (1.0 - share - LITTLE, True),
        (1.0 - share + LITTLE, False),
    ):
        assert (sides(10.0 + 20.0 * at, 50.0, up) != BESIDE) == inside
    back = 48.0 - lid_contact.BEHIND_MM
    assert sides(20.0, back + LITTLE, up) != BESIDE and sides(20.0, back - LITTLE, up) == BESIDE


def test_what_stands_far_off_is_beside_it(sides):
    assert sides(20.0, 49.0, 7.0 + lid_contact.REACH_MM - 0.5) == ABOVE
    assert sides(20.0, 49.0, 7.0 + lid_contact.REACH_MM + 0.5) == BESIDE
