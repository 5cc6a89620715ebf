"""What a head lacks never gives more room: it leaves less known, and says what to add."""

from dataclasses import replace

import numpy as np
import pytest

from room_heads import bare_head, room_of_the_head, room_on


def without_roles(*roles):
    head = bare_head()
    return replace(head, parts=tuple(part for part in head.parts if str(part.role) not in roles))


def without_jaw():
    head = bare_head()
    marks = {name: at for name, at in head.landmarks.items() if not name.startswith("tragion")}
    return replace(head, landmarks=marks, motions={name: head.motions[name] for name in head.motions if name != "jaw"})


def without_mark(name):
    head = bare_head()
    return replace(head, landmarks={mark: at for mark, at in head.landmarks.items() if mark != name})


def no_more_than_whole(room, by_mm=0.5):
    whole = room_of_the_head().room_mm
    both = np.isfinite(room.room_mm) & np.isfinite(whole)
    assert not (room.room_mm[both] > whole[both] + by_mm).any()
    assert not (np.isfinite(room.room_mm) & ~np.isfinite(whole)).any(), "nothing is known that was not"


def test_without_eyeballs_the_way_to_the_eye_is_not_known():
    """Lids that are marked close without an eyeball too; how near a form comes to the eye is another question."""
    room = room_on(without_roles("eye_left", "eye_right"))
    no_more_than_whole(room)
    said = [reason for reason in room.reasons if "is not known: give the eyeball the role" in reason]
    assert len(said) == 2
    pupil = bare_head().landmarks["pupil_left"]
    near = np.linalg.norm(room.vertices_mm - pupil, axis=1) < 15.0
    assert np.isnan(room.room_mm[near]).all()


@pytest.mark.slow
@pytest.mark.parametrize(
    "lacking",
    [
        lambda: without_roles("upper_teeth", "lower_teeth"),
        without_jaw,
        lambda: without_mark("stomion_superius"),
    ],
    ids=["teeth", "jaw", "stomion"],
)
def test_what_is_lacking_leaves_less_known(lacking):
    room = room_on(lacking())
    no_more_than_whole(room)
