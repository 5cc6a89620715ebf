"""A stricter limit never gives more room, and a motion that is added never does."""

from dataclasses import replace

import numpy as np
import pytest

from room_heads import bare_head, room_of_the_head, room_on

STRICTER = {
    "sight_width_review_deg": 180.0, "sight_eye_fraction": 0.8, "sight_fraction": 0.8, "sight_down_review_deg": 55.0,
    "nostril_open_review": 0.9, "ear_open_review": 0.7, "mobile_thickness_review_mm": 2.0,
    "lid_thickness_review_mm": 0.7, "cheek_thickness_review_mm": 4.0, "overlap_soft_review_mm": 0.5,
    "eye_clearance_review_mm": 3.0, "lid_contact_mm": 0.2, "mouth_open_area_review": 0.9, "lip_zone_mm": 11.0,
    "lid_zone_mm": 10.0,
}  # fmt: skip


def never_more(strict, loose):
    known = np.isfinite(strict) & np.isfinite(loose)
    assert (strict[known] <= loose[known] + 1e-6).all()
    return int((strict[known] < loose[known] - 0.1).sum())


@pytest.mark.slow
def test_stricter_limits_give_less_room():
    assert never_more(room_on(bare_head(), **STRICTER).room_mm, room_of_the_head().room_mm) > 1000


@pytest.mark.slow
@pytest.mark.parametrize("name", ["sight_eye_fraction", "nostril_open_review", "overlap_soft_review_mm"])
def test_each_stricter_limit_gives_less_room(name):
    assert never_more(room_on(bare_head(), **{name: STRICTER[name]}).room_mm, room_of_the_head().room_mm) > 100


@pytest.mark.slow
def test_an_added_motion_gives_no_more_room():
    head = bare_head()
    still = replace(head, motions={name: motion for name, motion in head.motions.items() if name != "smile"})
    never_more(room_of_the_head().room_mm, room_on(still).room_mm)


@pytest.mark.slow
def test_what_a_missing_blink_leaves_unknown_is_never_free():
    head = bare_head()
    still = replace(head, motions={name: motion for name, motion in head.motions.items() if name != "blink"})
    room = room_on(still)
    near = np.linalg.norm(room.vertices_mm - head.landmarks["pupil_left"], axis=1) < 15.0
    assert np.isnan(room.room_mm[near]).all()
    assert any("no blink" in room.reasons[number] for number in np.unique(room.why[near]))
    assert (room.stopped_by[np.isnan(room.room_mm)] == -1).all()
