"""What the brief names and the design has not: whose answers stand without it, and how many are told."""

from types import SimpleNamespace

import pytest

from dryfit.checks import runner
from dryfit.model.brief import Brief
from dryfit.model.unmatched import Unmatched
from dryfit.performer.fitting import Fitting
from shapes import sheet, worn

HORN = Unmatched("hardware", "Horn", counts=True)
BASE = Unmatched("base", "Haed", counts=True)
BROW = Unmatched("appliance", "Brow", counts=True)
ANY = Unmatched("appliance", "Cheek*")


def told(*unmatched, of_base=False, passing=True):
    shot = worn(sheet(steps=4), sheet(20.0, 4, lambda x, y: 1.0), unmatched=unmatched)
    return [*runner._without_named(SimpleNamespace(of_base=of_base), Fitting(shot, Brief()), passing)]


@pytest.mark.parametrize(
    ("unmatched", "rest"),
    [((HORN,), ""), ((HORN, ANY), ""), ((HORN, BROW), " 1 more entry matches nothing: see the notes."),
     ((ANY, HORN, BROW, BASE), " 2 more entries match nothing: see the notes.")],
)  # fmt: skip
def test_one_finding_names_the_first_and_counts_the_rest(unmatched, rest):
    (found,) = told(*unmatched)
    assert found.severity == "review" and found.cause == "'Horn' matches no object"
    assert found.message == f"{HORN.words} This answer is without it.{rest}"


def test_the_base_matters_to_every_check_and_to_the_base_nothing_else_does():
    assert told(HORN, of_base=True) == []
    (found,) = told(HORN, BASE, of_base=True)
    assert found.message == f"{BASE.words} This answer is without it."
    assert told(ANY) == [] and told(HORN, passing=False) == []
