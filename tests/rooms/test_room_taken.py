"""An area that is taken on the real head: by region or by paint, said where it means nothing, and still a promise."""

from dataclasses import replace

import numpy as np
import pytest

from dryfit.model.brief import Brief, RoomBrief
from dryfit.model.brief_reading import parse_brief
from dryfit.model.errors import BadValue, UnknownKey
from dryfit.model.progress import drain
from dryfit.performer.fitting import Fitting
from dryfit.rooms.room import measure_room
from dryfit.rooms.skin import skin_of
from dryfit.rooms.taken import GROUP, taken_notes, taken_skin
from room_heads import bare_head, room_of_the_head
from sculpted_skins import Shape, pieces_on, random_skin, statuses

CHIN = Brief(room=RoomBrief(taken=("chin", "lower lip")))


@pytest.fixture(scope="module")
def taken_room():
    return drain(measure_room(Fitting(bare_head(), CHIN)))


def height(room, stop_id):
    return next(stop.height_mm for stop in room.stops if stop.id == stop_id)


def test_the_brief_names_regions_or_patterns():
    brief = parse_brief('[room]\ntaken = ["Chin", "* brow"]\n')
    assert brief.room.says_taken("chin") and brief.room.says_taken("left brow") and not brief.room.says_taken("brow")
    with pytest.raises(UnknownKey, match="taken"):
        parse_brief('[room]\ntakn = ["chin"]\n')
    with pytest.raises(BadValue, match="a list of strings"):
        parse_brief('[room]\ntaken = "chin"\n')


def test_a_region_that_is_none_is_said_with_the_nearest():
    brief = Brief(room=RoomBrief(taken=("chinn", "* brow")))
    (said,) = taken_notes(Fitting(bare_head(), brief))
    assert "'chinn'" in said and "'chin'" in said


def test_paint_on_the_base_takes_what_it_covers():
    head = bare_head()
    weights = (np.arange(len(head.base.vertices_mm)) % 7 == 0).astype(float)
    painted = replace(head.base, areas={**head.base.areas, GROUP: weights})
    parts = tuple(painted if part.role == "base" else part for part in head.parts)
    fitting = Fitting(replace(head, parts=parts), Brief())
    np.testing.assert_array_equal(taken_skin(fitting, skin_of(fitting)), weights >= 0.5)


def test_what_is_taken_has_no_less_and_everything_else_no_more(taken_room):
    fitting = Fitting(bare_head(), CHIN)
    taken = taken_skin(fitting, skin_of(fitting))
    plain = room_of_the_head()
    more = np.nan_to_num(taken_room.room_mm - plain.room_mm)
    inner = taken.copy()
    edge = taken[taken_room.faces]
    inner[taken_room.faces[edge.any(axis=1) & ~edge.all(axis=1)].ravel()] = False
    assert taken.any() and more[inner].min() > -1e-9
    assert more[~taken].max() < 0.3 and (more[~taken] < -0.5).any(), "give and take"
    assert (height(taken_room, "taken") < 1e-6).any()


def test_a_skin_under_it_still_passes(taken_room):
    for seed, shape in enumerate((Shape(0.95, 40.0, 0.9), Shape(0.95, 15.0, 0.3))):
        heights, owner = random_skin(bare_head(), taken_room, seed, shape)
        parts = pieces_on(taken_room, heights, owner)
        results = statuses(bare_head(), Brief(), parts, ("interference", "closure"))
        said = {name: [str(finding.message) for finding in result.findings] for name, result in results.items()}
        assert {str(result.status) for result in results.values()} == {"pass"}, said
