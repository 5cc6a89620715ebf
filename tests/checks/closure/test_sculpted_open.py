"""A mouth sculpted open and never rigged, shut by a hinge from landmarks: the stored head's own shapes are the answer.

Between the open shape and the rest shape the lower strip teeth move as a rigid body, so the jaw's true motion is known,
and what the soft lips do beside it too.
"""

from functools import cache

import numpy as np
import pytest

from dryfit.checks.closure import closure
from dryfit.checks.closure.hinge_trials import poses_on
from dryfit.geometry.rigid import fit_rigid
from dryfit.model.brief import Brief, HingeBrief, MotionBrief
from dryfit.model.progress import drain
from dryfit.performer.fitting import Fitting
from dryfit.performer.head_frame import HeadFrame
from dryfit.performer.mouth.line import MouthLine
from public_head import LOWER_MARGIN, part_of, public_head, sculpted_open

UP, FRONT = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])
AXIS_YZ = (685.9, 66.9)
OWN_AXIS = HingeBrief(slide_deg_per_mm=1e12, axis_left_mm=(50.0, *AXIS_YZ), axis_right_mm=(-50.0, *AXIS_YZ))
FROM_LANDMARKS = HingeBrief()
WAYS = [np.array(way) * 10.0 for way in ((0, 1.0, 0), (0, -1.0, 0), (0, 0, 1.0), (0, 0, -1.0))]


def incisal_vertex():
    rest = part_of("teeth_lower")[0]
    middle = np.flatnonzero(np.abs(rest[:, 0]) < 3.0)
    return middle[(rest[middle] @ UP).argmax()]


@cache
def hinged(stated):
    brief = Brief(motions={"jaw": MotionBrief(hinge=stated)})
    fitting = Fitting(sculpted_open(), brief)
    return fitting, fitting.poses("jaw")


def returned(fitting, poses):
    """Close until the lower incisors are as high as in the rest shape; what is left of teeth and lip against it.

    Returns the turn in degrees, how far teeth and lip then stand from the rest shape, and the largest of the former.
    """
    tip, rest = incisal_vertex(), part_of("teeth_lower")[0]
    low, high = -0.4, 0.8
    while high - low > 1e-9:
        t = 0.5 * (low + high)
        below = poses.vertices("teeth_lower", t)[tip] @ UP < rest[tip] @ UP
        low, high = (low, t) if below else (t, high)
    line = MouthLine(fitting, poses, HeadFrame.from_landmarks(fitting.snapshot.landmarks))
    lip = line.margins_mm(t)[1] - public_head()[0][LOWER_MARGIN]
    teeth = poses.vertices("teeth_lower", t) - rest
    return poses.bones.jaw(t).angle_deg, teeth[tip], lip, np.linalg.norm(teeth, axis=1).max()


def test_stored_teeth_turn_about_the_stated_axis():
    """24.4 degrees about y = 685.9, z = 66.9 with 0.4 mm left: fitted to the two stored shapes."""
    rest, opened, _ = part_of("teeth_lower")
    motion = fit_rigid(opened, rest)
    centre = np.linalg.solve(np.eye(2) - motion.rotation[1:, 1:], motion.shift_mm[1:])
    assert motion.angle_deg == pytest.approx(24.4, abs=0.05)
    assert centre == pytest.approx(AXIS_YZ, abs=0.1)
    assert np.linalg.norm(motion.apply(opened) - rest, axis=1).max() == pytest.approx(0.4, abs=0.05)


def test_performers_own_axis_brings_back_the_teeth_and_leaves_the_lip_as_short_as_it_is():
    """The soft lower lip stays 3.5 mm short and 1.3 mm back: measured on the stored shapes."""
    angle_deg, _, lip, teeth_mm = returned(*hinged(OWN_AXIS))
    assert angle_deg == pytest.approx(24.4, abs=0.1)
    assert teeth_mm == pytest.approx(0.4, abs=0.1)
    assert -lip @ UP == pytest.approx(3.5, abs=0.5)
    assert -lip @ FRONT == pytest.approx(1.3, abs=0.5)


def test_axis_from_landmarks_finds_the_turn_and_the_lips_height_but_not_its_depth():
    """A guessed axis shifts the bite fore and aft by up to 4 mm, and the lip goes with its teeth."""
    angle_deg, tooth, lip, _ = returned(*hinged(FROM_LANDMARKS))
    assert angle_deg == pytest.approx(24.4, abs=0.5)
    assert -lip @ UP == pytest.approx(3.5, abs=0.5)
    assert 0.5 < abs(tooth @ FRONT) < 4.0
    _, own_tooth, own_lip, _ = returned(*hinged(OWN_AXIS))
    assert (tooth - lip) @ FRONT == pytest.approx((own_tooth - own_lip) @ FRONT, abs=0.5)


@pytest.mark.parametrize(("stated", "most_mm"), [(OWN_AXIS, 0.7), (FROM_LANDMARKS, 0.8)])
def test_axis_moved_by_10_mm_leaves_the_lips_height_and_shifts_the_bite(stated, most_mm):
    """0.7 mm for a turn about a fixed axis; the slide that goes with the turn of a guessed one adds a tenth."""
    fitting, poses = hinged(stated)
    _, tooth, lip, _ = returned(fitting, poses)
    moved = [returned(fitting, poses_on(fitting, poses, stated, way)) for way in WAYS]
    assert max(abs((other - lip) @ UP) for _, _, other, _ in moved) <= most_mm
    shifts = [abs((other - tooth) @ FRONT) for _, other, _, _ in moved]
    assert 3.5 < max(shifts) < 4.3
    assert min(shifts) > 1.0


def test_the_check_shuts_it_until_its_teeth_meet_and_leaves_the_rest_to_the_lips():
    fitting, _ = hinged(FROM_LANDMARKS)
    outcome = drain(closure.CHECK.measure(fitting, fitting.brief))
    found = outcome.measures
    assert found["mouth_found"] == "lips open in the scan; with inside of the mouth"
    assert found["scan_open_deg"] - found["stop_angle_deg"] == pytest.approx(24.4, abs=1.5)
    assert found["contact_pair"] == "lower teeth 'teeth_lower' / upper teeth 'teeth_upper'"
    assert found["lips_reach"] == "easy"
    assert "the lips must close the last" in outcome.findings[0].message
    assert found["axis_10mm_bite_shift_mm"] == pytest.approx(-4.2, abs=0.5)
