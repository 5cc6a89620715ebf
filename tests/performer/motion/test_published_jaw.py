"""The jaw against published measurements of jaws, each within the scatter its paper gives.

Mehl et al. 2025, Clin Oral Investig, doi 10.1007/s00784-025-06619-4: centre of rotation of the whole opening.
Mehl 2020, Comput Methods Biomech Biomed Eng 23(9):445-455: how far a slide shifts the apparent axis.
Leader, Boston, Debski, Rudy 2003, J Biomech 36(2):275-281: turn and slide at full opening, two subjects.
Mapelli et al. 2009, Clin Anat, doi 10.1002/ca.20756: more turn than slide, always some of both.
Morphometric CBCT study, n = 120, PubMed 26734666: Bonwill's triangle and condyle height.
PMC3428458, n = 894, 21-70 years: widest opening between the incisors, men 51.3 (SD 8.3), women 44.3 (6.7) mm.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from dryfit.geometry.rigid import RigidMotion, rotation_vector
from dryfit.model.brief import Brief, HingeBrief
from dryfit.performer.fitting import Fitting
from dryfit.performer.motion.hinge import Hinge
from family import heads, jaws, members

FULL_DEG, AHEAD_MM, DOWN_MM = 34.10, 21.07, 6.95
EYE_LINE_DEG = 12.0
"""The line from tragion to eye corner rises so far over the horizontal that papers measure along."""
ADULTS = tuple(name for name in heads.IDENTITIES if name != "child")
OCCLUSAL_DEG = 9.3
"""The occlusal plane falls so far toward the front (Downs 1948, from memory; 1.5 to 14)."""
LEFT = np.array([1.0, 0.0, 0.0])


@cache
def level(identity="mean"):
    """Unit vectors ahead and up of a head held level, and its condyle."""
    marks = heads.head(identity).landmarks()
    line = marks["exocanthion_left"] - marks["tragion_left"]
    condyle = jaws.turn_at_the_condyles(heads.head(identity)).hinge_mm
    angle = np.arctan2(line[2], -line[1]) - np.radians(EYE_LINE_DEG)
    ahead = np.array([0.0, -np.cos(angle), np.sin(angle)])
    return ahead, np.cross(ahead, LEFT), condyle


def hinge(identity="mean", open_deg=FULL_DEG, **stated):
    return Hinge.from_landmarks(heads.head(identity).landmarks(), HingeBrief(open_deg, **stated))


def centre_of(motion: RigidMotion):
    """Where in the sagittal plane a motion leaves a point in place ``(3,)``: its finite centre of rotation."""
    away = np.eye(3) - motion.rotation
    return np.linalg.lstsq(away + np.outer(LEFT, LEFT), motion.shift_mm * [0.0, 1.0, 1.0], rcond=None)[0]


def below_and_behind_mm(motion, identity="mean"):
    ahead, up, condyle = level(identity)
    off = centre_of(motion) - condyle * [0.0, 1.0, 1.0]
    return -off @ up, -off @ ahead


def test_a_pure_turn_has_its_centre_on_its_axis():
    made = hinge(slide_deg_per_mm=1e12)
    assert centre_of(made.motion_at(1.0)) == pytest.approx(made.point_mm * [0.0, 1.0, 1.0], abs=1e-6)


@pytest.mark.parametrize("identity", ADULTS)
def test_the_whole_opening_turns_about_where_it_was_measured(identity):
    """Mehl et al. 2025: 32.4 (SD 7.4) mm below and 0.2 (SD 10.8) mm behind the condyle's centre."""
    below_mm, behind_mm = below_and_behind_mm(hinge(identity).motion_at(1.0), identity)
    assert below_mm == pytest.approx(32.4, abs=7.4)
    assert behind_mm == pytest.approx(0.2, abs=10.8)


def test_the_condyle_slides_as_far_as_was_measured():
    """Leader et al. 2003: 34.10 degrees with 21.07 mm ahead and 6.95 mm down; about 1.5 degrees a millimetre."""
    ahead, up, condyle = level()
    way = hinge().motion_at(1.0).apply(condyle) - condyle
    assert way @ ahead == pytest.approx(AHEAD_MM, abs=1.0)
    assert -(way @ up) == pytest.approx(DOWN_MM, abs=1.0)
    assert np.degrees(np.linalg.norm(rotation_vector(hinge().motion_at(1.0).rotation))) == pytest.approx(FULL_DEG)


@pytest.mark.parametrize("opened", [0.1, 0.25, 0.5, 1.0])
def test_it_slides_from_the_first_and_turns_more_than_it_slides(opened):
    """Mapelli et al. 2009: of the chin's way the turn has always the larger share, and never nearly all."""
    made = hinge()
    chin = heads.head().landmarks()["gnathion"]
    slid = np.linalg.norm(made.slide_mm * opened)
    turned = np.linalg.norm(hinge(slide_deg_per_mm=1e12).motion_at(opened).apply(chin) - chin)
    assert 0.5 < turned / (turned + slid) < 0.95


@pytest.mark.parametrize(("slid_mm", "shifts_mm"), [(1.0, 6.0), (2.0, 12.0)])
def test_a_slide_shifts_the_apparent_axis_as_was_calculated(slid_mm, shifts_mm):
    """Mehl 2020: a millimetre of slide shifts the axis found by about 6 mm, two by 12, in a turn of about 10 degrees
    (the hinge phase, 10 to 13 degrees: Okeson, from memory)."""
    made = hinge(open_deg=10.0, slide_deg_per_mm=10.0 / slid_mm)
    off = centre_of(made.motion_at(1.0)) - made.point_mm * [0.0, 1.0, 1.0]
    assert np.linalg.norm(off) == pytest.approx(shifts_mm, rel=0.1)


def bonwill_incisor(base_mm=99.6, arm_mm=103.3, above_mm=34.3):
    """The lower incisal point of a mandible of the CBCT study's means, its condyles where this head's are."""
    ahead, up, condyle = level()
    square_mm = np.sqrt(arm_mm**2 - (base_mm / 2.0) ** 2)
    tilt = np.radians(OCCLUSAL_DEG)
    along, above = ahead * np.cos(tilt) - up * np.sin(tilt), up * np.cos(tilt) + ahead * np.sin(tilt)
    return condyle * [0.0, 1.0, 1.0] + along * np.sqrt(square_mm**2 - above_mm**2) - above * above_mm


@pytest.mark.parametrize(("mean_mm", "deviation_mm"), [(51.3, 8.3), (44.3, 6.7)])
def test_a_mandible_of_published_size_opens_as_wide_as_was_measured(mean_mm, deviation_mm):
    """CBCT means, turned and slid as Leader et al. measured, bring the incisors as far apart as men's and women's are.

    The slide takes back what the turn moves the chin back, so that the way is shorter than the chord of the turn alone.
    """
    incisor = bonwill_incisor()
    travel_mm = np.linalg.norm(hinge().motion_at(1.0).apply(incisor) - incisor)
    chord_mm = np.linalg.norm(hinge(slide_deg_per_mm=1e12).motion_at(1.0).apply(incisor) - incisor)
    assert travel_mm == pytest.approx(mean_mm, abs=deviation_mm)
    assert travel_mm < chord_mm == pytest.approx(53.07, abs=0.1)


@pytest.mark.parametrize(("base_mm", "arm_mm", "above_mm"), [(85.2, 90.2, 21.0), (112.6, 117.9, 47.2)])
def test_the_least_and_the_largest_mandible_open_within_what_was_measured(base_mm, arm_mm, above_mm):
    """The CBCT study's extremes against the range of all men and women measured, 36 to 70 mm (PMC3428458)."""
    incisor = bonwill_incisor(base_mm, arm_mm, above_mm)
    assert 36.0 < np.linalg.norm(hinge().motion_at(1.0).apply(incisor) - incisor) < 70.0


@pytest.mark.parametrize("tooth_keys", [True, False])
def test_a_keyed_jaw_that_goes_as_was_measured_is_found_to(tooth_keys):
    """A face keyed with Leader's turn and slide gives them back, from its teeth's keys or from its skin alone."""
    like = members.keyed()
    jaw = jaws.turn_and_slide(like.head, FULL_DEG, FULL_DEG / float(np.hypot(AHEAD_MM, DOWN_MM)))
    frames = {"Head": jaws.skin_frames(like.head, jaw, members.SAMPLED)}
    if tooth_keys:
        frames["Lower"] = jaws.tooth_frames(like.rows.lower.vertices_mm, jaw, members.SAMPLED)
    keyed = replace(like.snapshot, motions={"jaw": jaws.motion("jaw", frames)})
    found = Fitting(keyed, Brief()).poses("jaw").bones.jaw(1.0)
    assert found.angle_deg == pytest.approx(FULL_DEG, abs=0.5)
    condyle = jaw.hinge_mm
    assert np.linalg.norm(found.apply(condyle) - condyle) == pytest.approx(np.hypot(AHEAD_MM, DOWN_MM), abs=0.7)
    wanted = below_and_behind_mm(RigidMotion(found.rotation, found.shift_mm))
    assert wanted[0] == pytest.approx(32.4, abs=7.4) and wanted[1] == pytest.approx(0.2, abs=10.8)
