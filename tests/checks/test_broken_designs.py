"""A head whose mouth a block holds open, its teeth left out, moved, shrunk, turned inside out, there twice or stuck.

What is broken may hide what stops the jaw; then nothing passes that rests on it.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import dryfit
from dryfit.model.finding import Status
from dryfit.model.snapshot import Motion
from family import members

pytestmark = pytest.mark.slow
CHECKS = ["base_lock", "closure", "coverage", "interference"]
ROWS = ("Upper", "Lower")


def blocked():
    return members.blocked(7.0).snapshot


def with_part(snapshot, name, change, also_keys=None):
    """The snapshot with one part changed, and its key frames alike."""
    parts = tuple(change(part) if part.name == name else part for part in snapshot.parts)
    motions = {key: _keys(motion, name, also_keys) for key, motion in snapshot.motions.items()}
    return replace(snapshot, parts=parts, motions=motions)


def _keys(motion, name, change):
    frames = {key: change(posed) if key == name and change else posed for key, posed in motion.frames_mm.items()}
    return Motion(motion.name, motion.frames_t, frames)


def placed(snapshot, name, place):
    """The snapshot with one part's points and key frames put elsewhere."""
    return with_part(snapshot, name, lambda part: replace(part, vertices_mm=place(part.vertices_mm)), place)


def without(snapshot, *names):
    parts = tuple(part for part in snapshot.parts if part.name not in names)
    keys = {
        name: Motion(name, motion.frames_t, {key: posed for key, posed in motion.frames_mm.items() if key not in names})
        for name, motion in snapshot.motions.items()
    }
    return replace(snapshot, parts=parts, motions=keys)


def twice(snapshot, name):
    part, again = snapshot.part(name), f"{name}.001"
    keys = {
        key: Motion(
            key,
            motion.frames_t,
            dict(motion.frames_mm) | ({again: motion.frames_mm[name]} if motion.moves(name) else {}),
        )
        for key, motion in snapshot.motions.items()
    }
    return replace(snapshot, parts=(*snapshot.parts, replace(part, name=again)), motions=keys)


def inside_out(snapshot, name):
    return with_part(snapshot, name, lambda part: replace(part, faces=part.faces[:, ::-1]))


def shrunk(snapshot, name):
    middle = snapshot.part(name).vertices_mm.mean(axis=0)
    return placed(snapshot, name, lambda points: middle + 0.001 * (points - middle))


def stuck(snapshot):
    """The jaw's keys move nothing."""
    jaw = snapshot.motions["jaw"]
    still = {name: np.repeat(posed[:1], len(posed), axis=0) for name, posed in jaw.frames_mm.items()}
    return replace(snapshot, motions={"jaw": Motion("jaw", jaw.frames_t, still)})


@cache
def statuses(broken):
    report = dryfit.check(broken(), only=CHECKS)
    return {check.id: check.status for check in report.checks}


SHIFTS = {"back": [0.0, 60.0, 0.0], "down": [0.0, 0.0, -100.0], "aside": [300.0, 0.0, 0.0]}
OUT_OF_SIGHT = {
    **{f"{row} left out": lambda row=row: without(blocked(), row, "Block") for row in ROWS},
    **{
        f"{row} {way}": lambda row=row, by=by: placed(without(blocked(), "Block"), row, lambda points: points + by)
        for row in ROWS
        for way, by in SHIFTS.items()
    },
    **{f"{row} shrunk": lambda row=row: shrunk(without(blocked(), "Block"), row) for row in ROWS},
}
STILL_BLOCKED = {
    "as it is": blocked,
    **{f"{name} twice": lambda name=name: twice(blocked(), name) for name in (*ROWS, "Block")},
    **{f"{name} inside out": lambda name=name: inside_out(blocked(), name) for name in (*ROWS, "Block")},
}


@pytest.mark.parametrize("broken", STILL_BLOCKED)
def test_what_stops_the_jaw_stops_it_however_it_is_drawn(broken):
    found = statuses(STILL_BLOCKED[broken])
    assert found["closure"] == Status.FAIL and found["interference"] == Status.FAIL


@pytest.mark.parametrize("broken", OUT_OF_SIGHT)
def test_teeth_that_are_not_where_teeth_are_prove_nothing_about_closing(broken):
    assert statuses(OUT_OF_SIGHT[broken])["closure"] != Status.PASS


@pytest.mark.parametrize("broken", [name for name in OUT_OF_SIGHT if "left out" not in name])
def test_nor_about_what_shows_and_what_meets(broken):
    found = statuses(OUT_OF_SIGHT[broken])
    assert found["coverage"] != Status.PASS and found["interference"] != Status.PASS


def test_a_jaw_that_moves_nothing_proves_nothing():
    found = statuses(lambda: stuck(blocked()))
    assert found["closure"] != Status.PASS and found["interference"] != Status.PASS


def test_rows_in_their_place_are_not_called_odd():
    found = statuses(lambda: members.keyed().snapshot)
    assert found["closure"] == Status.PASS and found["interference"] == Status.PASS
