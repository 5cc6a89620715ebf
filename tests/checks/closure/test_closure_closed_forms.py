"""Closure against closed formulas: cylinders for lips, a spike for a tooth, a plate for the upper row."""

import numpy as np
import pytest

from dryfit.checks.closure.closure import CHECK
from dryfit.model.brief import Brief
from dryfit.model.progress import drain
from dryfit.model.snapshot import Motion, Part, Snapshot
from dryfit.performer.fitting import Fitting
from dryfit.performer.mouth.lips import Lips
from mouth_shapes import FRONT, RADIUS, axis_yz, box, hinge, joined, known_mouth, landmarks, lips, mouth, peg, turned_yz

OPEN_DEG = 25.0


def closed(snapshot, brief):
    return drain(CHECK.measure(known_mouth(snapshot, brief), brief))


def gap_of_cylinders(angle_deg, gap_mm):
    """Height between two equal circles; where that is little against the depth of the shortest way, nearer to the way.

    Circles that run into each other: the least of what they overlap by upright and in depth.
    """
    y, z = apart_yz(angle_deg, gap_mm)
    apart, tall = np.hypot(y, z) - 2 * RADIUS, max(y - 2 * RADIUS, 0.0)
    if apart <= 0.0:
        return 2 * max(y / 2 - np.sqrt(RADIUS**2 - (z / 2) ** 2), abs(z) / 2 - np.sqrt(RADIUS**2 - (y / 2) ** 2))
    depth = min(np.sqrt(apart**2 - tall**2), 2.0)
    return np.hypot(tall, depth * (1 - min(tall / (2 * depth), 1.0) ** 2) ** 2) if depth else tall


def way_of_cylinders(angle_deg, gap_mm):
    """The shortest way between the same circles."""
    return np.hypot(*apart_yz(angle_deg, gap_mm)) - 2 * RADIUS


def apart_yz(angle_deg, gap_mm):
    """How far the middle of the upper circle is above and ahead of the lower one's."""
    height = RADIUS + gap_mm / 2
    return np.array([height, FRONT]) - turned_yz([-height, FRONT], angle_deg)


@pytest.mark.parametrize("t", [-0.02, 0.0, 0.03, 0.1, 0.25, 0.5, 0.75, 1.0])
def test_gap_between_cylinder_lips_follows_the_turn(t):
    brief = hinge(OPEN_DEG)
    fitting = Fitting(mouth(gap_mm=1.0), brief)
    gaps = Lips(fitting, fitting.poses("jaw"), (fitting.base,)).profile(t).gap_mm
    assert np.allclose(gaps, gap_of_cylinders(OPEN_DEG * t, 1.0), atol=0.01)


def test_gap_is_read_at_41_stations_or_more():
    outcome = closed(mouth(), hinge())
    assert len(outcome.curves["gap_along_lips"].x) >= 41
    assert np.isfinite(outcome.curves["gap_along_lips"].y).all()


def test_keyed_lips_close_on_straight_lines():
    """With shape keys the lower lip goes straight down; the gap is linear in t."""
    base = Part("Head", "base", *lips(0.5))
    opened = base.vertices_mm - np.where(base.vertices_mm[:, 1:2] < 0, [0.0, 30.0, 0.0], 0.0)
    motion = Motion("jaw", [0.0, 1.0], {"Head": np.stack([base.vertices_mm, opened])})
    piece = Part("Chin", "appliance", *box([-5, -40, 104], [5, -36, 108]))
    outcome = closed(Snapshot("s", parts=(base, piece), landmarks=landmarks(), motions={"jaw": motion}), Brief())
    curve = outcome.curves["gap_by_t"]
    assert np.allclose(curve.y, 0.5 + 30.0 * np.array(curve.x), atol=0.005)
    assert outcome.measures["motion_source"] == "shape keys"
    assert outcome.measures["max_opening_mm"] == pytest.approx(30.5, abs=0.005)


def contact_angle_deg(tip_yz, plate_y):
    """The turn that brings a point of the lower jaw down to a height: one solution of a cosine."""
    y, z = np.asarray(tip_yz) - axis_yz()
    arm, phase = np.hypot(y, z), np.arctan2(z, y)
    return np.degrees(np.arccos((plate_y - axis_yz()[0]) / arm) - phase)


def spiked(tip_y, plate_y=8.0, z=80.0, groups=True):
    spike = peg([10, -12, z], [10, tip_y, z])
    areas = {"dryfit_tooth_33": np.ones(len(spike[0]))} if groups else {}
    lower = Part("Lower", "lower_teeth", *spike, areas=areas)
    upper = Part("Upper", "upper_teeth", *box([-20, plate_y, 60], [20, plate_y + 1.0, 95]))
    return mouth(lower, upper)


@pytest.mark.parametrize("tip_y", [9.0, 12.0, 17.5, 24.0])
def test_spike_meets_plate_at_the_angle_of_the_formula(tip_y):
    outcome = closed(spiked(tip_y), hinge(OPEN_DEG))
    wanted = contact_angle_deg([tip_y, 80.0], 8.0)
    assert outcome.measures["contact_angle_deg"] == pytest.approx(wanted, abs=0.01)
    assert outcome.measures["contact_t"] == pytest.approx(wanted / OPEN_DEG, abs=1e-4)


def test_blocking_finding_names_the_tooth_and_what_it_must_lose():
    outcome = closed(spiked(24.0), hinge(OPEN_DEG))
    first = outcome.findings[0]
    assert outcome.measures["closes"] == 0.0
    assert first.severity == "fail"
    assert first.fix == "shorten the left lower canine by 16.0 mm"
    assert first.remedy == "shorten"
    assert first.object == "Lower"
    assert first.at_mm[0] > 0
    assert len(first.elements)
    assert outcome.measures["residual_gap_mm"] == pytest.approx(
        gap_of_cylinders(outcome.measures["contact_angle_deg"], 0.1), abs=0.01
    )


def test_shortened_by_that_much_the_mouth_shuts():
    assert closed(spiked(24.0 - 16.0 - 0.05), hinge(OPEN_DEG)).measures["closes"] == 1.0


def test_no_tooth_groups_still_names_the_row():
    outcome = closed(spiked(24.0, groups=False), hinge(OPEN_DEG))
    assert outcome.findings[0].fix == "shorten the lower teeth 'Lower' by 16.0 mm"


def test_spike_that_clears_everything_stops_nothing():
    outcome = closed(spiked(7.0), hinge(OPEN_DEG))
    assert outcome.measures["closes"] == 1.0
    assert np.isnan(outcome.measures["contact_t"])
    assert outcome.findings == ()


def test_roots_that_cross_at_every_pose_are_not_contact():
    """Upper and lower row each rooted in the lip behind it; nothing between them touches."""
    lower = Part("Lower", "lower_teeth", *box([-10, -9, 96], [10, -2, 98]))
    upper = Part("Upper", "upper_teeth", *box([-10, 2, 96], [10, 9, 98]))
    outcome = closed(mouth(lower, upper, gap_mm=0.1), hinge())
    assert outcome.measures["closes"] == 1.0
    assert np.isnan(outcome.measures["contact_t"])


def test_tooth_against_upper_lip_blocks_beyond_what_a_lip_gives():
    """A spike under the upper cylinder: first touch where its tip reaches the cylinder's lowest line."""
    bottom = 0.05
    tip = Part("Tusk", "lower_teeth", *peg([10, -12, FRONT], [10, 5.0, FRONT], width=1.0))
    outcome = closed(mouth(tip), hinge(OPEN_DEG))
    assert outcome.measures["closes"] == 0.0
    assert outcome.findings[0].fix.endswith(f"by {5.0 - bottom:.1f} mm")
    assert "upper lip" in outcome.findings[0].message
    shallow = Part("Tusk", "lower_teeth", *peg([10, -12, FRONT], [10, bottom + 1.0, FRONT], width=1.0))
    assert closed(mouth(shallow), hinge(OPEN_DEG)).measures["closes"] == 1.0


def test_lips_sculpted_open_close_past_rest_when_nothing_is_in_the_way():
    outcome = closed(mouth(gap_mm=2.0), hinge(OPEN_DEG))
    assert outcome.measures["closes"] == 1.0, "the bare base's own gap is not the design's"


def test_hardware_that_meets_the_lower_row_is_named():
    bar = Part("Bar", "hardware", *box([-15, 20, 60], [15, 22, 95]))
    lower = Part("Lower", "lower_teeth", *peg([0, -12, 80], [0, 24, 80]))
    upper = Part("Upper", "upper_teeth", *box([-20, 22, 60], [20, 30, 95]))
    outcome = closed(mouth(upper, bar, lower), hinge(OPEN_DEG))
    assert outcome.measures["contact_angle_deg"] == pytest.approx(contact_angle_deg([24.0, 80.0], 20.0), abs=0.01)
    assert "'Bar'" in outcome.findings[0].message


def test_missing_landmarks_are_named():
    snapshot = mouth()
    marks = {name: place for name, place in snapshot.landmarks.items() if name != "cheilion_left"}
    outcome = closed(Snapshot("s", parts=snapshot.parts, landmarks=marks), hinge())
    assert "cheilion_left" in outcome.reason
    marks = {name: place for name, place in snapshot.landmarks.items() if name != "tragion_left"}
    outcome = closed(Snapshot("s", parts=snapshot.parts, landmarks=marks), Brief())
    assert "tragion_left" in outcome.reason


def test_opening_that_the_design_takes_away_is_said():
    """A bar of tissue over the lower lip takes its height off the opening."""
    bar = Part("Lip", "appliance", *box([-40, -3, 97], [40, 6.0, 103]))
    groups = [("dryfit_lip_upper", 0.0), ("dryfit_lip_lower", 1.0)]
    bar = Part("Lip", "appliance", bar.vertices_mm, bar.faces, areas={g: np.full(8, w) for g, w in groups})
    outcome = closed(mouth(bar, gap_mm=12.1), hinge(OPEN_DEG))
    lost = outcome.measures["bare_max_opening_mm"] - outcome.measures["max_opening_mm"]
    assert lost > 5.0
    assert any("less than the bare base" in finding.message for finding in outcome.findings)


def test_of_two_teeth_that_touch_at_once_the_place_is_on_the_one_that_is_named():
    left, right = peg((12, -14, 84), (12, 4, 84)), peg((-12, -14, 84), (-12, 4, 84))
    areas = {"dryfit_tooth_33": np.arange(68) < 34, "dryfit_tooth_43": np.arange(68) >= 34}
    lower = Part("Lower", "lower_teeth", *joined(left, right), areas=areas)
    upper = Part("Upper", "upper_teeth", *box([-20, 0, 80], [20, 8, 88]))
    outcome = closed(mouth(lower, upper), hinge())
    first = outcome.findings[0]
    side = 1 if "left" in first.message.split(" meets ")[0] else -1
    assert first.at_mm[0] == pytest.approx(12.0 * side, abs=1.5)
    assert first.motion == "jaw"
    assert first.t == pytest.approx(outcome.measures["contact_t"])
    pair = {field.part: field.values for field in outcome.fields if field.name == "pair"}
    assert set(np.unique(pair["Lower"][np.isfinite(pair["Lower"])])) == {0.0}
    assert (np.isfinite(pair["Lower"]) == areas["dryfit_tooth_33" if side > 0 else "dryfit_tooth_43"]).all()
    assert (pair["Upper"] == 1.0).all()
    gap = outcome.curves["gap_by_t"]
    assert gap.y[gap.x.index(outcome.measures["contact_t"])] == outcome.measures["residual_gap_mm"]
    assert len(outcome.curves["gap_by_t_midline"].x) == len(gap.x)


@pytest.mark.parametrize("marked", [True, False])
def test_where_centrals_are_marked_no_canine_stands_for_them(marked):
    """The point that travels: on a circle about the hinge, the chord of the turn. A long canine has one of its own."""
    central, canine = box([-4, -9, 90], [4, -2, 92]), peg([12, -12, 60], [12, 10.0, 60], width=1.0)
    of_central = np.arange(len(central[0]) + len(canine[0])) < len(central[0])
    areas = {"dryfit_tooth_31": of_central * 1.0, "dryfit_tooth_33": ~of_central * 1.0} if marked else {}
    lower = Part("Lower", "lower_teeth", *joined(central, canine), areas=areas)
    outcome = closed(mouth(lower, gap_mm=0.1), hinge(OPEN_DEG))
    y, z = (-2.0, 92.0) if marked else (10.0, 60.0)
    radius_mm = np.hypot(*(np.array([y, z]) - axis_yz()))
    chord_mm = 2 * radius_mm * np.sin(np.radians(OPEN_DEG) / 2)
    assert outcome.measures["incisal_travel_mm"] == pytest.approx(chord_mm, abs=0.02)
