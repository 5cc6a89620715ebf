"""The mandible is a bone: held against the CC0 head's own teeth, and against turns of a stated angle."""

from functools import cache

import numpy as np
import pytest

from dryfit.demo_door import demo_module
from dryfit.geometry.consensus import agreed_motion
from dryfit.geometry.rigid import fit_rigid, turn_about
from dryfit.model.brief import Brief
from dryfit.model.snapshot import Motion, Part, Snapshot
from dryfit.performer.fitting import Fitting
from dryfit.performer.motion.mandible import Evidence
from public_head import DEMO, part_of

SHAPES = {
    "jaw": {"jawOpen": 1.0},
    "half": {"jawOpen": 0.5},
    "smile": {"mouthSmileLeft": 1.0, "mouthSmileRight": 1.0},
    "strong_smile": {"mouthSmileLeft": 2.0, "mouthSmileRight": 2.0},
    "blink": {"eyeBlinkLeft": 1.0, "eyeBlinkRight": 1.0},
    "pucker": {"mouthPucker": 1.0},
    "lips_down": {"mouthLowerDownLeft": 1.0, "mouthLowerDownRight": 1.0},
    "ahead": {"jawForward": 1.0},
    "aside": {"jawLeft": 1.0},
}
STILL = ("smile", "strong_smile", "blink", "pucker", "lips_down")
TEETH, SKIN = "teeth_lower", "skin"


@cache
def stored():
    return np.load(DEMO / "data" / "makehuman_head_cc0.npz")


@cache
def posed(motion):
    """Every vertex of the head in one of the shapes."""
    head = stored()
    names, vertices = [str(name) for name in head["morph_names"]], head["V_mm"].astype(float)
    for name, weight in SHAPES[motion].items():
        rows = slice(*head["morph_start"][names.index(name) :][:2])
        vertices[head["morph_idx"][rows]] += weight * head["morph_delta"][rows] * float(head["morph_unit_mm"])
    return vertices


def moved(part, motion):
    rest = part_of(part)[0]
    everything = stored()["V_mm"].astype(float)
    ids = [int(np.abs(everything - point).sum(axis=1).argmin()) for point in rest]
    return posed(motion)[ids]


@cache
def landmarks():
    vertices, performer = stored()["V_mm"].astype(float), demo_module("performer")
    marks = {name: vertices[vertex] for name, vertex in performer.MIDLINE_MARKS.items()}
    for name, vertex in performer.PAIRED_MARKS.items():
        marks |= {f"{name}_left": vertices[vertex], f"{name}_right": vertices[vertex] * [-1, 1, 1]}
    return marks


@cache
def skins():
    return {name: moved(SKIN, name) for name in SHAPES}


def design(with_keyed_teeth, without=()):
    rest, teeth = part_of(SKIN), part_of(TEETH)
    frames = {name: {SKIN: np.stack([rest[0], skin])} for name, skin in skins().items()}
    if with_keyed_teeth:
        frames["jaw"][TEETH] = np.stack([teeth[0], moved(TEETH, "jaw")])
    return Snapshot(
        "head",
        parts=(Part(SKIN, "base", rest[0], rest[2]), Part(TEETH, "lower_teeth", teeth[0], teeth[2])),
        motions={name: Motion(name, np.array([0.0, 1.0]), each) for name, each in frames.items()},
        landmarks={name: point for name, point in landmarks().items() if name not in without},
    )


@pytest.fixture(params=["keyed teeth", "bare teeth", "bare teeth, no gnathion"])
def fitting(request):
    without = ("gnathion",) if "no gnathion" in request.param else ()
    return Fitting(design("keyed" in request.param, without), Brief())


def test_teeth_go_as_far_as_the_heads_own_do(fitting):
    own_mm = moved(TEETH, "jaw")
    assert fitting.mandible.evidence is (Evidence.TEETH if fitting.mandible.misfit_mm < 0.3 else Evidence.SKIN)
    assert fitting.mandible.turn_deg == pytest.approx(24.4, abs=0.8)
    assert np.linalg.norm(fitting.poses("jaw").vertices(TEETH, 1.0) - own_mm, axis=1).max() < 2.0


@pytest.mark.parametrize("motion", STILL)
def test_muscles_draw_the_skin_over_a_jaw_that_is_still(fitting, motion):
    assert np.array_equal(fitting.poses(motion).vertices(TEETH, 1.0), part_of(TEETH)[0])


def test_another_motion_that_opens_the_mouth_goes_along_the_same_path(fitting):
    there_mm = fitting.poses("half").vertices(TEETH, 1.0)
    assert fitting.poses("half").bones.jaw(1.0).angle_deg == pytest.approx(12.0, abs=0.5)
    assert np.linalg.norm(there_mm - moved(TEETH, "half"), axis=1).max() < 2.1
    path_mm = [fitting.mandible.path(t).apply(part_of(TEETH)[0]) for t in np.linspace(0.4, 0.6, 201)]
    assert min(np.abs(each - there_mm).max() for each in path_mm) < 0.1


@pytest.mark.parametrize("motion", ["ahead", "aside"])
def test_a_jaw_drawn_ahead_or_aside_slides_with_its_teeth(fitting, motion):
    there_mm = fitting.poses(motion).vertices(TEETH, 1.0)
    assert np.linalg.norm(there_mm - moved(TEETH, motion), axis=1).max() < 2.0


@pytest.mark.parametrize("turn_deg", [10.0, 25.3])
def test_skin_that_takes_a_share_of_the_turn_does_not_shorten_it(turn_deg):
    """A sheet whose share of the turn falls smoothly from 1 to 0, as a chin's does toward the ears."""
    x, y = np.meshgrid(np.linspace(-40, 40, 41), np.linspace(-60, 20, 41))
    before = np.stack([x.ravel(), y.ravel(), 90.0 - 0.01 * x.ravel() ** 2], axis=1)
    share = 0.5 - 0.5 * np.cos(np.pi * np.clip((20.0 - before[:, 1]) / 50.0, 0.0, 1.0))
    after = np.stack(
        [turn_about([0, 20, 0], [1, 0, 0], np.radians(turn_deg) * each).apply(point)
         for each, point in zip(share, before, strict=True)]
    )  # fmt: skip
    way_mm = np.linalg.norm(after - before, axis=1)
    moving = way_mm >= 0.5 * way_mm.max()
    found = agreed_motion(before[moving], after[moving])
    assert found.motion.angle_deg == pytest.approx(turn_deg, rel=0.02)
    assert share[moving][found.kept].min() > 0.9
    plain = fit_rigid(before[moving], after[moving]).angle_deg
    assert abs(plain - turn_deg) > 0.05 * turn_deg, "a plain fit would do as well"
