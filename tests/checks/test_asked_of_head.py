"""What is asked of a bare head reads the limits of a head alone: another limit leaves it as it is known."""

from dataclasses import fields, replace
from functools import cache
from typing import ClassVar

import pytest

from dryfit.checks.runner import run_fitting
from dryfit.model.brief import Brief, HingeBrief, MotionBrief
from dryfit.model.kept_answers import SHARED_MB, KeptAnswers
from dryfit.model.limits import Limits
from dryfit.model.progress import drain
from dryfit.model.withheld import Withheld
from dryfit.performer import fitting as fittings
from dryfit.performer.indexed_bases import IndexedBases
from dryfit.performer.tried_on import design_of
from family import members, pieces

HINGED = Brief(motions={"jaw": MotionBrief(hinge=HingeBrief(open_deg=14.0))})


@cache
def worn():
    like = members.blocked(3.0)
    return like.wearing(pieces.cheek_piece(like.head), pieces.chin_piece(like.head)).snapshot


def asked(fitting):
    report = drain(run_fitting(fitting))
    assert not [check.reason for check in report.checks if check.fault]
    return report


class Recording(Limits):
    """Limits that note which of them are asked for."""

    read: ClassVar = set()

    def __getattribute__(self, name):
        if name in NAMES:
            Recording.read.add(name)
        return object.__getattribute__(self, name)


NAMES = {entry.name for entry in fields(Limits)}


def test_the_list_of_a_heads_limits_misses_none_and_has_none_too_many(monkeypatch):
    def recorded(snapshot, brief):
        return snapshot, replace(brief, limits=Recording(**vars(brief.limits)))

    monkeypatch.setattr(fittings, "asked_of_head", recorded)
    monkeypatch.setattr(fittings.Fitting, "content", b"as it is")  # which would read them all
    Recording.read = set()
    for brief in (Brief(), HINGED):
        fitting = design_of(worn(), brief, explicit=True).fitting
        asked(fitting)
    assert Recording.read == fittings.HEAD_LIMITS


def test_whatever_else_is_asked_of_a_head_is_refused():
    head = design_of(worn(), Brief(), explicit=True).fitting.head
    assert head.brief.limits.lip_zone_mm == Limits().lip_zone_mm
    for ask in (
        lambda: head.brief.limits.contact_mm,
        lambda: head.brief.materials,
        lambda: head.snapshot.cameras,
        lambda: head.seen_near,
        lambda: head.lock_state,
    ):
        with pytest.raises(Withheld):
            ask()


@pytest.fixture(scope="module")
def bases():
    return IndexedBases(KeptAnswers(SHARED_MB))


@pytest.mark.parametrize("name", sorted(NAMES))
def test_a_limit_changes_the_head_only_where_it_is_a_heads_own(name, bases):
    snapshot, brief = worn(), Brief()
    before = design_of(snapshot, brief, explicit=True, bases=bases).fitting.head
    limits = replace(brief.limits, **{name: getattr(brief.limits, name) * 1.05 + 0.001})
    after = design_of(snapshot, replace(brief, limits=limits), explicit=True, bases=bases).fitting.head
    assert (after is not before) == (name in fittings.HEAD_LIMITS)


def test_an_edited_limit_leaves_what_is_known_of_the_head():
    bases = IndexedBases(KeptAnswers(SHARED_MB))
    snapshot, brief = worn(), Brief()
    fitting = design_of(snapshot, brief, explicit=True, bases=bases).fitting
    asked(fitting)
    known = fitting.head.kept.worked_out
    assert known
    tighter = replace(brief, limits=replace(brief.limits, contact_mm=0.06))
    again = design_of(snapshot, tighter, explicit=True, bases=bases).fitting
    asked(again)
    assert again.head is fitting.head
    assert again.head.kept.worked_out == known
