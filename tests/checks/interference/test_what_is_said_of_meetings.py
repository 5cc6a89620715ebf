"""Where two things touch, how deep counts, and which meeting is what stops the mouth: each decision from both sides."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from dryfit.checks.interference import findings, interference
from dryfit.model.brief import Brief
from dryfit.model.limits import Limits
from dryfit.model.progress import Progress, drain
from dryfit.performer.contact.course import Span
from dryfit.performer.contact.pairs import Give
from dryfit.performer.fitting import Fitting
from shapes import sheet, worn

LIMITS = Limits()
FITTING = Fitting(worn(sheet(steps=4), sheet(20.0, 4, lambda x, y: 1.0)), Brief())
PIECE = FITTING.snapshot.part("Piece")
ROW = replace(PIECE, role="lower_teeth")
SKIN = FITTING.base
LITTLE = 1e-3


def pair_of(give=Give.HARD, part=PIECE, other=SKIN, other_name="skin"):
    return SimpleNamespace(
        give=give, first=SimpleNamespace(part=part), second=SimpleNamespace(part=other, name=other_name)
    )


def meeting(depth_mm=9.0, pair=None, span=None, motion="jaw", name="'Piece'"):
    return SimpleNamespace(
        name=name, other_name="skin", depth_mm=depth_mm, pair=pair or pair_of(), span=span or Span(None, 0.5),
        span_motion=motion, encounter=SimpleNamespace(motion=motion), overlap=SimpleNamespace(t=0.25),
        deepest_place=lambda: (np.zeros(3), np.zeros(3)), vertices=lambda: np.array([0]),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("low", "high", "motion", "words"),
    [(None, None, "jaw", "; it is in the way at every pose of that motion"),
     (0.2, 0.6, "jaw", "; they touch from jaw 0.200 to 0.600"),
     (None, 0.6, "jaw", "; closing, they touch from jaw 0.600 down to 0"),
     (None, 0.6, "smile", "; they touch from smile 0.600 down to 0"), (0.2, None, "jaw", "; they touch from jaw 0.200 on")],
)  # fmt: skip
def test_from_where_to_where_two_things_touch(low, high, motion, words):
    assert findings.span_words(meeting(span=Span(low, high), motion=motion)) == words


@pytest.mark.parametrize(
    ("give", "words"),
    [(Give.HARD, "touch"), (Give.SOFT, "touch"), (Give.FLESH, "go in too deep"), (Give.LIP, "go in too deep")],
)
def test_flesh_is_touched_before_it_is_in_the_way(give, words):
    assert findings.span_words(meeting(pair=pair_of(give), span=Span(0.2, None))) == f"; they {words} from jaw 0.200 on"


@pytest.mark.parametrize(
    ("low", "high", "start"),
    [(0.2, 0.6, 0.2), (None, 0.6, 0.6), (0.2, None, 0.2), (0.0, 0.6, 0.0), (None, None, np.nan)],
)
def test_a_stretch_of_touching_begins_at_the_end_inside_the_motion(low, high, start):
    assert findings.start_t(Span(low, high)) == pytest.approx(start, nan_ok=True)


@pytest.mark.parametrize(
    ("give", "review", "high"),
    [(Give.HARD, "overlap_hard_review_mm", "overlap_hard_mm"), (Give.FLESH, "overlap_flesh_review_mm", "overlap_flesh_mm"),
     (Give.SOFT, "overlap_soft_review_mm", "overlap_soft_mm")],
)  # fmt: skip
@pytest.mark.parametrize("step", [0.0, LITTLE])
def test_how_deep_a_meeting_is_and_what_it_is_held_against(give, review, high, step):
    fails_mm = getattr(LIMITS, high)
    found = findings.finding_of(meeting(fails_mm + step, pair_of(give)), FITTING, None)
    expected = ("fail", fails_mm) if step else ("review", getattr(LIMITS, review))
    assert (str(found.severity), found.limit) == expected


@pytest.mark.parametrize("part", [PIECE, ROW])
def test_where_a_meeting_is_is_named_unless_the_tooth_says_it(part):
    found = findings.finding_of(meeting(pair=pair_of(part=part)), FITTING, None)
    assert (" at the " in found.message) == (part is PIECE)


STUD = pair_of(other=SKIN, other_name="skin")


def stopper(meets, closed_by, piece="'Piece'", blocked=True):
    """What the piece of a meeting must lose, where a mouth is stopped by one pair."""
    excess = SimpleNamespace(pair=closed_by, part_name=closed_by.first.part.name, piece=piece)
    closed = SimpleNamespace(blocked=blocked, excesses=[excess])
    return interference.stopper_in(meeting(pair=meets), closed) is excess


def test_a_meeting_is_what_stops_the_mouth_where_it_is_of_the_same_piece_in_the_same_thing():
    assert stopper(STUD, STUD)
    assert stopper(STUD, pair_of(other_name="skin")), "by name, whatever bodies were made of it"
    assert stopper(STUD, pair_of(other_name="lower lip")), "a lip is of the same part"
    assert not stopper(STUD, STUD, blocked=False)
    assert not stopper(STUD, STUD, piece="a tooth")
    assert not stopper(STUD, pair_of(part=replace(PIECE, name="Other")))
    assert not stopper(STUD, pair_of(other=ROW, other_name="skin")), "another part"
    assert not stopper(STUD, pair_of(other_name="nose")), "another piece of it"
    assert interference.stopper_in(meeting(), None) is None


def test_of_a_lip_only_the_very_pair_that_stopped_the_mouth_is_taken():
    lip = pair_of(Give.LIP, other_name="upper lip")
    assert stopper(lip, lip)
    assert not stopper(lip, pair_of(Give.LIP, other_name="upper lip"))


class Rows:
    """A pair of whom only the parts are asked."""

    def __init__(self, role, other):
        self.first, self.second = (
            SimpleNamespace(part=replace(PIECE, name=each[0], role=each)) for each in (role, other)
        )


def test_rows_that_never_move_against_each_other_are_named():
    rows, same = Rows("lower_teeth", "upper_teeth"), Rows("lower_teeth", "hardware")
    (words,) = interference._never_apart([rows, same], {})
    assert "('l' and 'u')" in words
    assert interference._never_apart([rows], {rows: []}) == []
    assert interference._never_apart([same], {}) == []


@pytest.mark.parametrize("shut", [True, False])
def test_only_the_jaw_is_not_looked_at_again_and_it_is_gone_through_in_the_most_poses(shut, monkeypatch):
    """What closed the mouth knows one of two pairs; without it, or in another motion, both are looked at."""
    known, other = Rows("lower_teeth", "upper_teeth"), Rows("lower_teeth", "hardware")
    looked = []

    def looked_at(fitting, pairs, bodies, times):
        found = [*pairs]
        looked.append((bodies[0], found, len(times), times[0], times[-1]))
        yield Progress(0, 1, "")
        return [(SimpleNamespace(pair=pair, motion=bodies[0]), "seen") for pair in found]

    monkeypatch.setattr(interference, "looked_at", looked_at)
    monkeypatch.setattr(interference, "PosedBodies", lambda poses, indexes: (poses, indexes))
    fitting = SimpleNamespace(motion_names=("jaw", "smile"), poses=lambda name: name)
    once = SimpleNamespace(encounter=SimpleNamespace(pair=known, motion="jaw"), overlaps="as it closed")
    closed = SimpleNamespace(mouth=SimpleNamespace(stops=SimpleNamespace(by_pair=lambda: {known: once})))
    seen = drain(interference.look_through(fitting, [known, other], closed if shut else None))
    assert looked == [
        ("jaw", [other] if shut else [known, other], interference.JAW_STEPS + 1, 0.0, 1.0),
        ("smile", [known, other], interference.OTHER_STEPS + 1, 0.0, 1.0),
    ]
    assert [(each.motion, row) for each, row in seen[known]] == [
        ("jaw", "as it closed" if shut else "seen"), ("smile", "seen")
    ]  # fmt: skip
