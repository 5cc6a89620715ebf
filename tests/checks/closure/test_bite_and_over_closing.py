"""Open mouths that bite, mouths that close too far, and what kind of mouth was found: closed forms on cylinder lips."""

from dataclasses import replace

import numpy as np
import pytest
from test_closure_closed_forms import OPEN_DEG, closed, contact_angle_deg, way_of_cylinders

from dryfit.checks.closure.findings import over_closed
from dryfit.checks.closure.result import ClosureResult
from dryfit.geometry.rigid import turn_about
from dryfit.model.limits import Limits
from dryfit.model.progress import drain
from dryfit.model.snapshot import TISSUE, Part, Snapshot
from dryfit.performer.closing import ClosedMouth, close_mouth, mouth_of
from dryfit.performer.fitting import Fitting
from dryfit.performer.mouth.found import mouth_found
from dryfit.performer.mouth.lips import Lips
from mouth_shapes import FRONT, axis_yz, box, hinge, joined, known_mouth, landmarks, lips, mouth, peg, turned_yz

SCULPTED_DEG = 15.0
PLATE_Y = 8.0


def sculpted_open(*tips_y):
    """Cylinder lips, spikes and a plate, everything of the lower jaw turned open by 15 degrees."""
    opened = turn_about([0.0, *axis_yz()], [1.0, 0.0, 0.0], np.radians(SCULPTED_DEG))
    spikes = [peg([x, -12, 80.0], [x, tip, 80.0]) for x, tip in zip((-10.0, 10.0), tips_y, strict=True)]
    count = len(spikes[0][0])
    areas = {f"dryfit_tooth_{tooth}": np.repeat([tooth == 43, tooth == 33], count) * 1.0 for tooth in (43, 33)}
    head, (row, row_faces) = lips(0.1), joined(*spikes)
    skin = np.where(head[0][:, 1:2] < 0.0, opened.apply(head[0]), head[0])
    marks = landmarks()
    for name in ("stomion_inferius", "labiale_inferius", "gnathion"):
        marks[name] = opened.apply(marks[name])
    for name in ("cheilion_left", "cheilion_right"):
        marks[name] = 0.5 * (marks[name] + opened.apply(marks[name]))
    parts = (
        Part("Head", "base", skin, head[1]),
        Part("Lower", "lower_teeth", opened.apply(row), row_faces, areas=areas),
        Part("Upper", "upper_teeth", *box([-20, PLATE_Y, 60], [20, PLATE_Y + 1.0, 95])),
    )
    return Snapshot("open", parts=parts, landmarks=marks)


def numbers_before(text, unit):
    return [float(words.split()[-1]) for words in text.split(unit)[:-1]]


@pytest.mark.parametrize(("tips", "severity"), [((9.5, 8.7), "info"), ((11.0, 9.0), "review")])
def test_bite_says_the_turn_the_pair_and_what_is_left(tips, severity):
    """The jaw turns back from 15 degrees to where the longer spike meets the plate; the lower lip is behind by then."""
    outcome = closed(sculpted_open(*tips), hinge(OPEN_DEG))
    bite, still_deg = outcome.findings[0], contact_angle_deg([tips[0], 80.0], PLATE_Y)
    assert outcome.measures["contact_angle_deg"] == pytest.approx(still_deg, abs=0.02)
    assert numbers_before(bite.message, "°")[0] == pytest.approx(SCULPTED_DEG - still_deg, abs=0.06)
    assert "until the right lower canine meets the upper teeth 'Upper'" in bite.message
    behind_mm = FRONT - turned_yz([0.0, FRONT], still_deg)[1]
    assert behind_mm > 0.5
    assert outcome.measures["lower_lip_behind_mm"] == pytest.approx(behind_mm, abs=0.1)
    assert f"{outcome.measures['lower_lip_behind_mm']:.1f} mm behind the upper one's" in bite.message
    assert bite.fix.endswith(f"shorten the teeth by up to {max(tips) - PLATE_Y:.1f} mm")
    assert bite.object == "Lower"
    assert bite.at_mm[0] < 0.0
    assert (bite.motion, bite.t) == ("jaw", outcome.measures["contact_t"])
    tip = turned_yz([tips[0], 80.0], still_deg)
    assert bite.at_mm == pytest.approx((-10.0, *tip), abs=2.0), "the place is where the tip is at that pose"
    assert bite.severity == severity
    assert (bite.value, bite.limit) == (outcome.measures["residual_gap_mm"], 3.0)


def test_bite_that_leaves_lips_out_of_reach_is_what_blocks():
    outcome = closed(sculpted_open(14.0, 9.0), hinge(OPEN_DEG))
    assert 5.0 < outcome.measures["residual_gap_mm"] < 10.0
    reaching = replace(hinge(OPEN_DEG), limits=Limits(lip_reach_mm=10.0))
    assert closed(sculpted_open(14.0, 9.0), reaching).findings[0].severity == "review", "this performer reaches"
    assert outcome.findings[0].severity == "fail"
    assert "while the jaw is still" in outcome.findings[0].message
    poses = Fitting(sculpted_open(14.0, 9.0), hinge(OPEN_DEG)).poses("jaw")
    for finding in outcome.findings[:2]:
        row = poses.vertices("Lower", finding.t)
        assert np.linalg.norm(row - finding.at_mm, axis=1).min() < 2.0, "each place is on the teeth at its pose"
    assert {finding.fix for finding in outcome.findings[:2]} == {
        "shorten the right lower canine by 6.0 mm", "shorten the left lower canine by 1.0 mm"
    }  # fmt: skip


def test_a_closed_scan_never_bites():
    """The same spike in a scan with closed lips stands in the way of the jaw; nothing is left to the lips."""
    lower = Part("Lower", "lower_teeth", *peg([-10, -12, 80], [-10, 9.5, 80]))
    upper = Part("Upper", "upper_teeth", *box([-20, PLATE_Y, 60], [20, PLATE_Y + 1.0, 95]))
    first = closed(mouth(lower, upper), hinge(OPEN_DEG)).findings[0]
    assert first.severity in ("review", "fail")
    assert "themselves" not in first.message


def found_with(*meshes, apart_mm=0.0):
    marks = landmarks()
    marks["stomion_superius"] = marks["stomion_superius"] + [0, apart_mm / 2, 0]
    marks["stomion_inferius"] = marks["stomion_inferius"] - [0, apart_mm / 2, 0]
    base = Part("Head", "base", *joined(lips(0.1 + apart_mm), *meshes))
    fitting = Fitting(Snapshot("s", parts=(base,), landmarks=marks), hinge(OPEN_DEG))
    return mouth_found(fitting, fitting.poses("jaw"))


@pytest.mark.parametrize(
    ("place", "inside"),
    [((0, 0, 80), True), ((-11, 0, 80), True), ((0, 13, 80), True), ((0, -13, 80), True), ((0, 0, 62), True),
     ((14, 0, 80), False), ((-14, 0, 80), False), ((0, 17, 80), False), ((0, -17, 80), False), ((0, 0, 55), False),
     ((0, 0, 94), False), ((0, 0, 130), False)],
)  # fmt: skip
def test_inside_of_the_mouth_is_skin_8_to_40_mm_behind_the_lips(place, inside):
    crumb = box(np.array(place) - 0.5, np.array(place) + 0.5)
    assert found_with(crumb).bag == inside
    assert found_with(crumb).words.endswith("with inside of the mouth" if inside else "no inside of the mouth")


@pytest.mark.parametrize(("apart_mm", "words"), [(0.0, "shut"), (4.5, "shut"), (5.5, "open"), (9.0, "open")])
def test_lips_more_than_5_mm_apart_are_open(apart_mm, words):
    found = found_with(apart_mm=apart_mm)
    assert found.open_mm == pytest.approx(apart_mm, rel=0.02, abs=1e-9)
    assert found.words == f"lips {words} in the scan; no inside of the mouth"


def over_closing(gap_mm, *parts):
    """Close cylinder lips that are apart at rest until they are 0.3 mm apart, whatever they are on the bare base."""
    brief = replace(hinge(OPEN_DEG), limits=replace(Limits(), lip_rest_mm=9.0))
    fitting = known_mouth(mouth(*parts, gap_mm=gap_mm), brief)
    poses = fitting.poses("jaw")
    worn, bare = Lips(fitting, poses, fitting.snapshot.with_role(*TISSUE)), Lips(fitting, poses, (fitting.base,))
    made = drain(mouth_of(fitting, poses, worn, np.full(61, 0.3)))
    return ClosureResult(fitting, brief, ClosedMouth(fitting, poses, bare, made, drain(close_mouth(made))), ())


def turn_past_deg(gap_mm):
    low, high = 0.0, 5.0
    while high - low > 1e-9:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if way_of_cylinders(-middle, gap_mm) > 0.3 else (low, middle)
    return low


@pytest.mark.parametrize("gap_mm", [0.8, 2.0, 4.6])
def test_over_closing_is_the_turn_that_brings_the_lips_together(gap_mm):
    result, wanted_deg = over_closing(gap_mm), turn_past_deg(gap_mm)
    assert result.over_closure_deg == pytest.approx(wanted_deg, abs=0.02)
    chin = landmarks()["gnathion"][1:]
    rise_mm = turned_yz(chin, -wanted_deg)[0] - chin[0]
    assert result.over_closure_mm == pytest.approx(rise_mm, abs=0.03)
    finding = next(iter(over_closed(result)))
    limit_mm = result.brief.limits.over_closure_mm
    assert finding.severity == ("review" if rise_mm > limit_mm else "info")
    assert (finding.value, finding.limit) == (result.over_closure_mm, limit_mm)
    assert f"the lips meet only {result.over_closure_deg:.1f}° past it" in finding.message


def test_both_severities_of_over_closing_are_tried():
    limit_mm = hinge().limits.over_closure_mm
    assert over_closing(0.8).over_closure_mm < limit_mm < over_closing(4.6).over_closure_mm


def test_a_jaw_that_stops_before_closed_or_at_its_teeth_does_not_over_close():
    plate = Part("Upper", "upper_teeth", *box([-20, PLATE_Y, 60], [20, PLATE_Y + 1.0, 95]))
    early, late = (over_closing(2.0, Part("Lower", "lower_teeth", *peg([0, -12, 80], [0, tip, 80])), plate)
                   for tip in (12.0, PLATE_Y - 0.4))  # fmt: skip
    assert early.over_closure_deg == 0.0 and early.over_closure_mm == 0.0
    assert late.closing.contact is not None and late.closing.contact.t < 0.0
    assert not list(over_closed(early)) and not list(over_closed(late))


def test_without_a_chin_mark_no_rise_is_made_up():
    result = over_closing(2.0)
    marks = {name: place for name, place in result.fitting.snapshot.landmarks.items() if name != "gnathion"}
    bare = replace(result.fitting.snapshot, landmarks=marks)
    assert replace(result, fitting=Fitting(bare, result.brief)).over_closure_mm == 0.0
