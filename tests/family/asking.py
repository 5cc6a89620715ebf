"""The public door: reports of a member's checks, asked once each, and what is read from them."""

import numpy as np

import dryfit
from dryfit.model.brief import Brief, HingeBrief, MotionBrief
from dryfit.model.finding import Severity
from dryfit.performer.fitting import Fitting

_REPORTS = {}
TURN_ONLY = 1e12
"""Degrees of turn for each millimetre of slide, in a brief for a jaw that only turns."""


def report(member, only, brief=None):
    """Return the report of one check on a member."""
    key = id(member.snapshot), only, repr(brief)
    if key not in _REPORTS:
        _REPORTS[key] = member.snapshot, dryfit.check(member.snapshot, brief or Brief(), only=[only])
    return _REPORTS[key][1]


def result(member, check, brief=None):
    """Return one check's result on a member."""
    return report(member, check, brief).check(check)


def measure(member, check, name, brief=None):
    """Return one figure; nan where the check does not give it."""
    return result(member, check, brief).measures.get(name, float("nan"))


def status(member, check, brief=None):
    """Return what a check concludes, as a word."""
    return str(result(member, check, brief).status)


def judged(member, check, brief=None):
    """Return the findings of a check that hold a design back: ``review`` or ``fail``."""
    return [each for each in result(member, check, brief).findings if each.severity != Severity.INFO]


def curve(member, name, check="closure"):
    """Return a curve of a check, ascending, ``(k,)`` and ``(k,)``."""
    drawn = result(member, check).curves[name]
    return np.array(drawn.x), np.array(drawn.y)


def posed(member, part, motion, t):
    """Return where Dryfit has a part's vertices ``(n, 3)`` at ``t`` of a motion."""
    return Fitting(member.snapshot, Brief()).posed_parts(motion, t)[part]


def with_hinge(**figures):
    """Return a brief whose jaw is a hinge."""
    return Brief(motions={"jaw": MotionBrief(hinge=HingeBrief(**figures))})
