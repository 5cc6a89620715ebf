"""The promise of a room: what stays under it passes every check it covers, and what goes over it is caught there."""

import numpy as np
import pytest

from dryfit.model.brief import Brief
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
