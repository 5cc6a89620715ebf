"""The process beside Blender serves one errand after another, and is replaced when it is gone."""

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from test_beside import START, asked, came_to, ended, figures  # noqa: E402

from dryfit.model.progress import drain  # noqa: E402
from dryfit.ui import beside as beside_blender  # noqa: E402
from dryfit.ui import errands  # noqa: E402
from dryfit.ui.beside import Beside  # noqa: E402
from dryfit.ui.errands import Errand  # noqa: E402


def child_of(errand):
    """Run an errand and return the child that did it, where it is kept."""
    ended(Beside(errand, START))
    with beside_blender._one_at_a_time:
        return next(iter(beside_blender._children), None)


def test_what_is_known_of_one_errand_serves_the_next(design):
    errand = asked(["additive", "edge"])
    child = child_of(errand)
    asked_before = child.errands
    assert child_of(errand) is child
    assert child.errands == asked_before + 1
    drain(errand.started())
    known = errands.KNOWN.answers.worked_out
    again = drain(errand.started())
    assert errands.KNOWN.answers.worked_out == known, "nothing is worked out twice"
    assert figures(ended(Beside(errand, START)).answer()) == figures(again)


def test_an_errand_that_is_stopped_leaves_what_is_known(design):
    errand = asked(["additive"])
    child = child_of(errand)
    stopped = Beside(asked(None), START)
    came_to(lambda: stopped.step != START)
    stopped.stop()
    assert figures(ended(Beside(errand, START)).answer()) == figures(drain(errand.started()))
    assert child_of(errand) is child
    stopped = Beside(errand, START)
    stopped.stop()
    ended(stopped)


def test_a_child_that_died_or_was_sent_away_has_a_successor(design):
    errand = asked(["additive"])
    child = child_of(errand)
    child._process.kill()
    child._process.wait()
    assert child_of(errand) not in (None, child)
    beside_blender.dismiss()
    assert ended(Beside(errand, START)).answer().check("additive").measures


def test_after_a_fault_no_child_is_kept(design):
    assert child_of(Errand(errands.propose, ("no snapshot",))) is None
    with pytest.raises(RuntimeError, match="str"):
        ended(Beside(Errand(errands.propose, ("no snapshot",)), START)).answer()
