"""Shape keys and the hinge from landmarks shut every design of the demo alike."""

from dataclasses import replace
from functools import cache

import pytest

from demo_reports import HINGED, KEYED, variant_snapshot
from dryfit.checks.closure.lip_reach import reach_of
from dryfit.checks.closure.verdict import closing_severity
from dryfit.demo_door import demo_module
from dryfit.model.brief import Brief
from dryfit.model.brief_reading import read_brief
from dryfit.model.progress import drain
from dryfit.model.snapshot import TISSUE
from dryfit.performer.closing import Closing, allowed_mm, close_mouth, mouth_of
from dryfit.performer.fitting import Fitting
from dryfit.performer.mouth.lips import Lips
from public_head import DEMO

pytestmark = pytest.mark.slow
DESIGNS = tuple(demo_module("wardens").DESIGNS)


@cache
def shut(name: str, hinged: bool) -> Closing:
    """Close one design, as the check does; the hinge knows nothing of the shape keys."""
    snapshot = variant_snapshot(name)
    brief = Brief() if hinged else read_brief(DEMO / "brief.toml")
    fitting = Fitting(replace(snapshot, motions={}), brief, HINGED) if hinged else Fitting(snapshot, brief, KEYED)
    poses = fitting.poses("jaw")
    assert (poses.source.hinge is not None) == hinged
    bare = Lips(fitting, poses, (fitting.base,)).profile(0.0)
    lips = Lips(fitting, poses, fitting.snapshot.with_role(*TISSUE))
    mouth = drain(mouth_of(fitting, poses, lips, allowed_mm(bare, brief)))
    return drain(close_mouth(mouth, with_profiles=False))


def answer(closing: Closing):
    limits = Brief().limits
    blocked = closing.contact is not None and closing.contact.t > 0.0 and not closing.sealed
    return closing.sealed, blocked, closing_severity(reach_of(closing.stop.largest_mm, closing.sealed, limits), blocked)


@pytest.mark.parametrize("name", DESIGNS)
def test_verdict_is_the_same(name):
    keyed, hinged = shut(name, False), shut(name, True)
    assert answer(hinged) == answer(keyed)
    if keyed.contact is not None:
        assert hinged.contact is not None
        assert hinged.contact.first_name == keyed.contact.first_name


def test_honest_design_is_left_with_the_same_gap():
    keyed, hinged = (shut("01-warden-plain", hinged) for hinged in (False, True))
    assert abs(hinged.stop.largest_mm - keyed.stop.largest_mm) < 1.0


def test_the_six_do_not_all_say_the_same():
    assert {answer(shut(name, True))[0] for name in DESIGNS} == {True, False}
