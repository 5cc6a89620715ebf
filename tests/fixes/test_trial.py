"""A mend on trial: measured again on a copy, and honest about what it leaves."""

import numpy as np
from test_lift import below_base, hollow

import dryfit
from dryfit.checks.registry import CHECKS
from dryfit.fixes.trial import try_mend
from dryfit.model.brief import Brief
from dryfit.model.progress import drain
from dryfit.performer.fitting import Fitting
from dryfit.report.after import outcome_words
from shapes import sheet, worn

ASKED = ("additive", "thickness")


def sunk():
    return worn(sheet(120.0, 60), sheet(60.0, 120, hollow(2.5)))


def test_a_raised_hollow_clears_the_walls_limit_and_not_only_the_skin():
    snapshot = sunk()
    before = snapshot.parts[1].vertices_mm.copy()
    trial = drain(try_mend(Fitting(snapshot, Brief()), below_base(snapshot), ASKED, 0.6))
    assert trial is not None and len(trial.changed) == 1
    assert trial.report.check("additive").measures["max_depth_mm"] <= 0.2
    assert trial.report.check("thickness").measures["min_interior_mm"] >= 0.15
    np.testing.assert_array_equal(snapshot.parts[1].vertices_mm, before)


def test_what_is_left_is_said():
    words, clear = outcome_words(dryfit.check(sunk(), only=ASKED), CHECKS)
    assert not clear
    assert "inside the performer" in words and words.endswith("Not enough by itself.")
    trial = drain(try_mend(Fitting(sunk(), Brief()), below_base(sunk()), ASKED, 0.6))
    words, clear = outcome_words(trial.report, CHECKS)
    assert clear and words.startswith("Depth below the skin pass, 0.00")


def test_nothing_to_mend_gives_no_trial():
    snapshot = sunk()
    without = [found for found in dryfit.check(snapshot, only=["additive"]).checks[0].findings if not found.remedy]
    assert drain(try_mend(Fitting(snapshot, Brief()), without, ASKED, 0.5)) is None
