"""Designs from which nothing can be learned, whole: what they are asked is not answered, and nothing falls over."""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import dryfit
from dryfit.model.brief import Brief, HingeBrief, MotionBrief
from dryfit.model.snapshot import Part, Snapshot
from shapes import icosphere, sheet, worn

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "scripts"))

from fuzz_designs import ball

HEAD_MM = 95.0


def wearer(marks, *others):
    """A ball with a nose and eyes, with these landmarks and a cap on its brow."""
    whose = ball()
    near = np.linalg.norm(whose.skin - whose.marks["sellion"], axis=1)
    kept = whose.faces[(near[whose.faces] < 45.0).all(axis=1)]
    used, kept = np.unique(kept, return_inverse=True)
    raised = whose.skin[used] + (0.08 * (45.0 - near[used]))[:, None] * whose.normals[used]
    cap = Part("Cap", "appliance", raised, kept.reshape(-1, 3), material="silicone")
    head = Part("Head", "base", whose.skin, whose.faces, own=True)
    return Snapshot("nobody", parts=(head, cap, *whose.eyes, *others), landmarks=marks)


def drum():
    """A closed ball round the whole head, with nothing to see through."""
    vertices, faces = icosphere(3, 1.6 * HEAD_MM)
    return Part("Drum", "hardware", vertices, faces, material="bronze")


@pytest.mark.parametrize(
    "misplaced",
    [lambda point: point, lambda point: 10.0 * point, lambda point: 1.3 * point, lambda point: 0.001 * point],
)
def test_a_sealed_head_never_passes_sightline_wherever_its_pupils_are_said_to_be(misplaced):
    """With pupils outside the drum, or so deep in the head that the bare head sees nothing either."""
    marks = {name: misplaced(point) if "pupil" in name else point for name, point in ball().marks.items()}
    for snapshot in (wearer(marks, drum()), replace(wearer(marks, drum()), parts=wearer(marks, drum()).parts[:2])):
        result = dryfit.check(snapshot, only=["sightline"]).check("sightline")
        assert result.status in ("not_checked", "fail")
        assert result.status == "fail" or result.reason


@pytest.mark.parametrize("lift_mm", [0.0, 0.01])
@pytest.mark.parametrize("check", ["additive", "thickness", "load"])
def test_nothing_is_proven_of_a_piece_that_is_not_there(check, lift_mm):
    base = sheet()
    result = dryfit.check(worn(base, (base[0] + [0.0, 0.0, lift_mm], base[1])), only=[check]).check(check)
    assert result.status in ("not_checked", "review", "fail")
    assert result.reason or result.findings


SENSELESS = {
    "at the origin": lambda marks: {name: np.zeros(3) for name in marks},
    "tragions on one spot": lambda marks: {**marks, "tragion_left": marks["tragion_right"]},
    "on one line": lambda marks: {name: np.array([0.0, 0.0, point[2]]) for name, point in marks.items()},
    "metres": lambda marks: {name: 0.001 * point for name, point in marks.items()},
}
HINGES = {
    "none": Brief(),
    "plain": Brief(motions={"jaw": MotionBrief(hinge=HingeBrief())}),
    "tiny": Brief(motions={"jaw": MotionBrief(hinge=HingeBrief(open_deg=1e-9))}),
}


@pytest.mark.parametrize("hinge", HINGES)
@pytest.mark.parametrize("senseless", SENSELESS)
def test_landmarks_that_make_no_sense_stop_what_is_built_on_them_and_are_no_fault(senseless, hinge):
    snapshot = wearer(SENSELESS[senseless](ball().marks))
    report = dryfit.check(snapshot, HINGES[hinge])
    assert report.faults == ()
    stopped = {each.id: each.reason for each in report.checks if each.status == "not_checked"}
    assert {"closure", "sightline"} <= {*stopped} and all(stopped.values())
    assert report.check("additive").status != "not_checked", "whatever needs none of them runs"
