"""Depth and first touch against closed formulas: spheres, boxes, layers, and things fixed to each other."""

import numpy as np
import pytest

from dryfit.checks.interference.interference import CHECK
from dryfit.model.progress import drain
from dryfit.model.snapshot import Part
from dryfit.performer.contact.body import PosedBodies, rigid_body, skin_bodies
from dryfit.performer.contact.encounter import Encounter
from dryfit.performer.contact.pairs import Pair
from dryfit.performer.fitting import Fitting
from meeting_shapes import ball, box, moving
from shapes import sheet


def asked(snapshot, brief):
    return drain(CHECK.measure(Fitting(snapshot, brief), brief))


def spheres(apart_mm, travel_mm, radii=(10.0, 6.0), name="approach"):
    """Two spheres on the x axis; the second comes nearer by a length."""
    first = Part("Large", "hardware", *ball([0, 0, 0], radii[0]))
    second = Part("Small", "hardware", *ball([radii[0] + radii[1] + apart_mm, 0, 0], radii[1]))
    return moving(first, second, motions={name: {"Small": [[0, 0, 0], [-travel_mm, 0, 0]]}})


@pytest.mark.parametrize(("apart", "travel"), [(3.0, 4.0), (1.0, 5.0), (7.5, 8.2)])
def test_spheres_touch_and_sink_in_as_their_radii_say(apart, travel):
    outcome = asked(*spheres(apart, travel))
    assert outcome.measures["start_t"] == pytest.approx(apart / travel, abs=1e-4)
    assert outcome.measures["max_penetration_mm"] == pytest.approx(travel - apart, abs=1e-3)
    assert outcome.measures["worst_t"] == 1.0
    assert outcome.measures["pairs"] == 1.0


def test_boxes_touch_and_sink_in_as_their_faces_say():
    first = Part("Plate", "hardware", *box([-20, -20, 0], [20, 20, 10]))
    second = Part("Stud", "hardware", *box([-3, -3, 12], [3, 3, 20]))
    outcome = asked(*moving(first, second, motions={"press": {"Stud": [[0, 0, 0], [0, 0, -5.0]]}}))
    assert outcome.measures["start_t"] == pytest.approx(2.0 / 5.0, abs=1e-4)
    assert outcome.measures["max_penetration_mm"] == pytest.approx(3.0, abs=1e-6)
    (finding,) = outcome.findings
    assert finding.severity == "fail"
    assert (finding.motion, finding.t) == ("press", 1.0)
    assert finding.at_mm[2] == pytest.approx(7.0, abs=1e-6)
    curve = outcome.curves["overlap_by_t_press"]
    assert np.allclose(curve.y, np.maximum(5.0 * np.array(curve.x) - 2.0, 0.0), atol=1e-6)


def test_deepest_between_two_poses_is_found():
    """A stud dips 4 mm down and comes back, turning at t = 0.45, which is no pose that is looked at."""
    turn = 0.45
    frames = np.linspace(0, 1, 21)
    dip = np.minimum(frames / turn, (1 - frames) / (1 - turn))
    shifts = [[0, 0, -4.0 * share] for share in dip]
    first = Part("Plate", "hardware", *box([-20, -20, 0], [20, 20, 10]))
    second = Part("Stud", "hardware", *box([-3, -3, 12], [3, 3, 20]))
    outcome = asked(*moving(first, second, motions={"dip": {"Stud": shifts}}))
    assert outcome.measures["max_penetration_mm"] == pytest.approx(2.0, abs=0.03)
    assert outcome.measures["worst_t"] == pytest.approx(turn, abs=0.004)
    assert "from dip 0.225 to 0.725" in outcome.findings[0].message
    assert outcome.measures["start_t"] == pytest.approx(0.225, abs=1e-4)


def test_teeth_are_told_apart_whoever_goes_into_whom():
    """A spike comes down in the middle of one of two wide teeth, between all of their vertices."""
    boxes = [box([x - 4.0, -4.0, 0.0], [x + 4.0, 4.0, 10.0]) for x in (15.0, -15.0)]
    count = len(boxes[0][0])
    row = Part(
        "Lower",
        "lower_teeth",
        np.concatenate([vertices for vertices, _ in boxes]),
        np.concatenate([faces + count * number for number, (_, faces) in enumerate(boxes)]),
        areas={f"dryfit_tooth_{tooth}": np.repeat(np.eye(2)[n], count) for n, tooth in enumerate((33, 43))},
    )
    spike = Part("Upper", "upper_teeth", *box([-15.3, -0.3, 12.0], [-14.7, 0.3, 20.0]))
    outcome = asked(*moving(row, spike, motions={"press": {"Upper": [[0, 0, 0], [0, 0, -5.0]]}}))
    (finding,) = outcome.findings
    assert finding.message.startswith("The right lower canine runs 3.0 mm into the upper teeth 'Upper'")
    assert finding.value == pytest.approx(3.0, abs=1e-6)


def test_nothing_is_said_of_what_only_comes_near():
    outcome = asked(*spheres(3.0, 2.9))
    assert outcome.findings == ()
    assert outcome.measures["max_penetration_mm"] == 0.0
    assert outcome.reason == ""


def test_shallow_touch_is_noise_and_deeper_is_judged():
    severities = [
        [str(found.severity) for found in asked(*spheres(1.0, 1.0 + deep)).findings] for deep in (0.1, 0.3, 0.7)
    ]
    assert severities == [[], ["review"], ["fail"]]


def test_what_is_fixed_together_at_every_pose_is_not_reported():
    """A stud sunk 3 mm into a plate for good, and shifted by a hair: only the hair counts."""
    first = Part("Plate", "hardware", *box([-20, -20, 0], [20, 20, 10]))
    second = Part("Stud", "hardware", *box([-3, -3, 7], [3, 3, 20]))
    outcome = asked(*moving(first, second, motions={"press": {"Stud": [[0, 0, 0], [0, 0, -0.15]]}}))
    assert outcome.findings == ()
    assert outcome.measures["max_penetration_mm"] == pytest.approx(0.15, abs=1e-6)
    deeper = asked(*moving(first, second, motions={"press": {"Stud": [[0, 0, 0], [0, 0, -0.9]]}}))
    assert deeper.findings[0].value == pytest.approx(0.9, abs=1e-6)


def test_rigid_things_that_move_together_do_not_meet():
    first = Part("Plate", "hardware", *box([-20, -20, 0], [20, 20, 10]))
    second = Part("Stud", "hardware", *box([-3, -3, 7], [3, 3, 20]))
    shift = [[0, 0, 0], [0, 0, -9.0]]
    outcome = asked(*moving(first, second, motions={"nod": {"Stud": shift, "Plate": shift}}))
    assert outcome.findings == ()
    assert outcome.measures["max_penetration_mm"] == 0.0


def layer(name, thickness_mm, base_z, width=40.0):
    vertices, faces = sheet(width, 40)
    return Part(name, "appliance", vertices + [0, 0, base_z + thickness_mm], faces)


def test_open_skin_is_as_deep_as_it_stands_over_the_base():
    """A pin comes down on a 4 mm layer, and one waits in the air behind a layer that hangs 30 mm over the base."""
    pin = Part("Pin", "hardware", *box([-1.3, -1.2, -42.0], [0.8, 0.9, -30.0]))
    piece = layer("Cheek", 4.0, -50.0)
    outcome = asked(*moving(pin, piece, motions={"press": {"Pin": [[0, 0, 0], [0, 0, -7.0]]}}))
    assert outcome.measures["flesh_penetration_mm"] == pytest.approx(3.0, abs=1e-6)
    assert outcome.measures["hard_penetration_mm"] == 0.0
    assert {found.object for found in outcome.findings} == {"Pin"}


def test_two_worn_pieces_run_into_each_other():
    one = Part("Chin", "appliance", *box([-20, -20, -50], [20, 0, -40]))
    two = Part("Neck", "appliance", *box([-20, 3, -50], [20, 30, -42]))
    outcome = asked(*moving(one, two, motions={"open": {"Chin": [[0, 0, 0], [0, 5.0, 0]]}}))
    assert outcome.measures["soft_penetration_mm"] == pytest.approx(2.0, abs=1e-6)
    assert outcome.measures["start_t"] == pytest.approx(0.6, abs=1e-4)
    assert outcome.findings[0].severity == "review"
    assert outcome.findings[0].fix.startswith("thin 'Chin' or 'Neck' by 2.0 mm")


def test_seam_of_two_pieces_is_a_note_only():
    one = Part("Chin", "appliance", *box([-20, -20, -50], [20, 2, -40]))
    two = Part("Neck", "appliance", *box([-20, 0, -50], [20, 30, -42]))
    outcome = asked(*moving(one, two, motions={"open": {"Chin": [[0, 0, 0], [0, 0.2, 0]]}}))
    (note,) = outcome.findings
    assert note.severity == "info"
    assert note.value == pytest.approx(2.0, abs=1e-6)
    assert "at every pose" in note.message


def test_hardware_pressed_into_the_skin():
    stud = Part("Stud", "hardware", *box([-3, -3, -45], [3, 3, -40]))
    outcome = asked(*moving(stud, motions={"press": {"Stud": [[0, 0, 0], [0, 0, -7.0]]}}))
    assert outcome.measures["flesh_penetration_mm"] == pytest.approx(2.0, abs=1e-6)
    assert outcome.measures["start_t"] == pytest.approx((5.0 + 1.5) / 7.0, abs=1e-4)
    assert outcome.findings[0].severity == "review"


def test_what_cannot_be_measured_says_what_to_add():
    snapshot, brief = spheres(3.0, 4.0)
    still = type(snapshot)("s", parts=snapshot.parts)
    assert "motions" in asked(still, brief).reason
    alone = type(snapshot)("s", parts=(*snapshot.parts[:1],), motions=snapshot.motions)
    assert "roles" in asked(alone, brief).reason
    teeth = Part("Lower", "lower_teeth", *box([-3, -3, 12], [3, 3, 20]))
    rows, brief = moving(teeth, motions={"press": {"Lower": [[0, 0, 0], [0, 0, -5.0]]}})
    assert "lips are not known" in asked(rows, brief).reason


def test_what_lies_in_one_half_of_a_skin_is_not_told_of_the_other():
    """A comb with a long and a short tooth comes down on both halves of the head's flat top."""
    boxes = [box([100, -60, -48], [106, -54, -40]), box([-106, 54, -45], [-100, 60, -40])]
    comb = Part(
        "Comb",
        "hardware",
        np.concatenate([vertices for vertices, _ in boxes]),
        np.concatenate([faces + len(boxes[0][0]) * number for number, (_, faces) in enumerate(boxes)]),
    )
    snapshot, brief = moving(comb, motions={"press": {"Comb": [[0, 0, 0], [0, 0, -6.0]]}})
    fitting = Fitting(snapshot, brief)
    middles = snapshot.base.vertices_mm[snapshot.base.faces].mean(axis=1)
    top = middles[:, 2] > -50.1
    halves = {"right": top & (middles[:, 0] < 0), "left": top & (middles[:, 0] > 0)}
    assert [half.sum() for half in halves.values()] == [1, 1]
    stage = PosedBodies(fitting.poses("press"), {})
    depths = [
        Encounter(Pair(rigid_body(fitting, comb), half), stage).overlap(1.0).depth_mm.max()
        for half in skin_bodies(fitting, np.ones(len(middles), bool), halves)
    ]
    assert depths == pytest.approx([1.0, 4.0])


def test_two_worn_pieces_in_each_other_deeper_than_a_seam_are_to_be_looked_at():
    """Two castings cannot fill the same place: 6 mm of each in the other is no seam, and no pass."""
    one = Part("Chin", "appliance", *box([-20, -20, -50], [20, 6, -40]))
    two = Part("Neck", "appliance", *box([-20, 0, -50], [20, 30, -42]))
    outcome = asked(*moving(one, two, motions={"open": {"Chin": [[0, 0, 0], [0, 0.2, 0]]}}))
    (found,) = outcome.findings
    assert found.severity == "review"
    assert 3.0 < found.value <= 6.0
    assert found.limit == 3.0
    assert found.fix.startswith("cut 'Chin' back where 'Neck' lies")
