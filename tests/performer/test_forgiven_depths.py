"""What two bodies are forgiven by how they give way, and what lips of a face sculpted open travel by themselves."""

from types import SimpleNamespace

import pytest

from dryfit.model.limits import Limits
from dryfit.performer.contact.body import Matter
from dryfit.performer.contact.forgiveness import Forgiveness
from dryfit.performer.contact.pairs import Give, Pair

LIMITS = Limits()


@pytest.mark.parametrize(
    ("give", "review", "fail"),
    [(Give.HARD, LIMITS.overlap_hard_review_mm, LIMITS.overlap_hard_mm),
     (Give.FLESH, LIMITS.overlap_flesh_review_mm, LIMITS.overlap_flesh_mm),
     (Give.SOFT, LIMITS.overlap_soft_review_mm, LIMITS.overlap_soft_mm),
     (Give.LIP, LIMITS.lip_yield_mm + 2.5, max(LIMITS.overlap_flesh_mm, LIMITS.lip_yield_mm + 2.5))],
)  # fmt: skip
def test_only_a_lip_travels_before_it_is_pressed(give, review, fail):
    forgiven, pair = Forgiveness(LIMITS, lips_travel_mm=2.5), SimpleNamespace(give=give)
    assert (forgiven.review_mm(pair), forgiven.fail_mm(pair)) == (review, fail)


@pytest.mark.parametrize(
    ("names", "rest_t", "travel_mm"),
    [((), 0.0, 0.0), (("jaw",), 0.0, 0.0), (("jaw",), 0.2, LIMITS.lip_gap_review_mm), (("smile",), 0.2, 0.0)],
)
def test_lips_travel_on_a_face_whose_jaw_was_found_open(names, rest_t, travel_mm):
    poses = SimpleNamespace(source=SimpleNamespace(rest_t=rest_t))
    fitting = SimpleNamespace(brief=SimpleNamespace(limits=LIMITS), motion_names=names, poses=lambda name: poses)
    assert Forgiveness.of(fitting) == Forgiveness(LIMITS, travel_mm)


def body(matter, name="'Piece'", own=False):
    return SimpleNamespace(matter=matter, name=name, own=own, whole_name=name)


RIGID, SKIN = Matter.RIGID, Matter.SKIN
SOFT = next(each for each in Matter if each not in (RIGID, SKIN))


@pytest.mark.parametrize(
    ("first", "second", "give"),
    [(body(RIGID), body(RIGID), Give.HARD), (body(RIGID), body(SKIN, "upper lip"), Give.LIP),
     (body(RIGID), body(SKIN, "lower lip"), Give.LIP), (body(RIGID), body(SKIN, "'Scan'"), Give.FLESH),
     (body(RIGID), body(SOFT), Give.FLESH), (body(SOFT), body(SOFT), Give.SOFT), (body(SOFT), body(RIGID), Give.HARD)],
)  # fmt: skip
def test_how_two_give_way_hangs_on_what_they_are(first, second, give):
    pair = Pair(first, second)
    assert pair.give == give and pair.mutual == (first.matter == second.matter) and not pair.own
    assert Pair(body(first.matter, own=True), body(second.matter, own=True)).own
