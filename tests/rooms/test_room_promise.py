"""The promise of a room: what stays under it passes every check it covers, and what goes over it is caught there."""

from dataclasses import replace

import numpy as np
import pytest

from dryfit.demo_door import demo_module
from dryfit.model.brief import Brief
from dryfit.model.snapshot import Motion
from dryfit.performer.head_frame import HeadFrame
from dryfit.performer.tooth_names import teeth_of, tooth_name
from room_heads import bare_head, room_of_the_head
from sculpted_skins import COVERED, Shape, over_one, pieces_on, random_skin, statuses, stopped_places

SHAPES = (Shape(0.95, 40.0, 0.9), Shape(0.95, 40.0, 0.2), Shape(0.95, 15.0, 0.0), Shape(0.95, 80.0, 0.5, 2.0))
SEEDS = 12
BUMPS, CAUGHT = 50, 45


def worn_under(levels, seed):
    head, room = bare_head(levels), room_of_the_head(levels)
    heights, owner = random_skin(head, room, seed, SHAPES[seed % len(SHAPES)])
    assert heights.max() > 10.0
    return statuses(head, Brief(), pieces_on(room, heights, owner))


def caught(levels, vertex):
    """Whether a bump over the room at a place makes the check that stops it there leave pass."""
    head, room = bare_head(levels), room_of_the_head(levels)
    stop = room.stops[room.stopped_by[vertex]]
    parts = over_one(room, vertex, stop)
    if not parts:
        return False
    return statuses(head, Brief(), parts, (stop.check,))[stop.check].status in ("review", "fail")


def test_a_skin_under_the_room_passes():
    results = worn_under(1, 0)
    assert {name: str(result.status) for name, result in results.items()} == dict.fromkeys(COVERED, "pass")


def test_bumps_over_the_room_are_caught():
    places = stopped_places(room_of_the_head(), 8, seed=3)
    assert sum(caught(1, vertex) for vertex in places) >= 7


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(SEEDS))
def test_random_skins_under_the_room_pass(seed):
    results = worn_under(2, seed)
    said = {name: [str(finding.message) for finding in result.findings] for name, result in results.items()}
    assert {name: str(result.status) for name, result in results.items()} == dict.fromkeys(COVERED, "pass"), said


@pytest.mark.slow
def test_bumps_at_fifty_places_are_caught_by_the_check_that_is_named():
    room = room_of_the_head(2)
    known = {}
    count = 0
    for vertex in stopped_places(room, BUMPS, seed=1):
        stop = room.stops[room.stopped_by[vertex]]
        key = stop.id if stop.together else vertex
        known[key] = known[key] if key in known else caught(2, vertex)
        count += known[key]
    assert count >= CAUGHT
    assert len({room.stops[number].check for number in np.unique(room.stopped_by[room.stopped_by >= 0])} - {""}) >= 5


TEETH = ("left upper central incisor", "left upper canine", "left upper first premolar", "left lower canine")


def longer(name, by_mm):
    """The head with one tooth longer: the last millimetres of its crown drawn out along the head's upright."""
    head = bare_head()
    up = HeadFrame.from_landmarks(head.landmarks).up
    parts, frames = [], dict(head.motions["jaw"].frames_mm)
    for part in head.parts:
        for number, inside in teeth_of(part).items():
            if tooth_name(number) == name:
                part = drawn_out(part, inside, up if part.role == "lower_teeth" else -up, by_mm)
        if part.name in frames and part.role == "lower_teeth":
            turned = demo_module("performer").jaw_turned
            frames[part.name] = np.stack([turned(part.vertices_mm, t) for t in head.motions["jaw"].frames_t])
        parts.append(replace(part, own=False))
    jaw = Motion("jaw", head.motions["jaw"].frames_t, frames)
    return replace(head, parts=tuple(parts), motions=dict(head.motions) | {"jaw": jaw})


def drawn_out(part, inside, toward, by_mm):
    height = part.vertices_mm @ toward
    share = np.clip((height - height[inside].max() + 5.0) / 4.0, 0.0, 1.0) * inside
    return replace(part, vertices_mm=part.vertices_mm + by_mm * share[:, None] * toward)


@pytest.mark.slow
@pytest.mark.parametrize("name", TEETH)
def test_a_tooth_may_become_as_long_as_its_room_and_no_longer(name):
    tooth = next(tooth for tooth in room_of_the_head().teeth.teeth if tooth.name == name)
    asked = ("closure", "interference", "coverage")
    under = statuses(longer(name, 0.95 * tooth.longer_mm), Brief(), (), asked)
    assert {str(result.status) for result in under.values()} == {"pass"}
    over = statuses(longer(name, 1.1 * tooth.longer_mm + 0.3), Brief(), (), asked)
    assert {str(result.status) for result in over.values()} & {"review", "fail"}
