"""The jaw to the sides and forward, against closed forms and published ways. +X left, +Y up, +Z front, mm."""

from dataclasses import replace

import numpy as np
import pytest

from dryfit.checks.fit import strain
from dryfit.checks.interference import interference
from dryfit.geometry.rigid import RigidMotion, rotation_matrix, turn_about
from dryfit.geometry.shared_motion import shared_motion
from dryfit.model.brief import Brief, ExcursionBrief, MotionBrief, Way
from dryfit.model.brief_reading import parse_brief
from dryfit.model.errors import BadValue
from dryfit.model.progress import drain
from dryfit.model.snapshot import Part, Snapshot
from dryfit.performer.fitting import Fitting
from dryfit.performer.motion.base_motion import NoMotion
from dryfit.performer.motion.excursion import AMOUNTS_MM, CONDYLE_HALF_MM
from mouth_shapes import box, hinge, lips, mouth

INCISAL = np.array([0.0, -2.0, 97.0])
SIDES = {"laterotrusion_left": 1.0, "laterotrusion_right": -1.0}
RNG = np.random.default_rng(11)


def design(*parts):
    lower = Part("Lower", "lower_teeth", *box([-10, -12, 93], INCISAL + [10, 0, 0]))
    upper = Part("Upper", "upper_teeth", *box([-10, -4.9, 98], [10, 4, 100]))
    return mouth(lower, upper, *parts)


def poses_of(name, slide_deg_per_mm=1.5, **stated):
    motions = dict(hinge(25.0, slide_deg_per_mm).motions)
    if stated:
        motions[name] = MotionBrief(excursion=ExcursionBrief(**stated))
    return Fitting(design(), Brief(motions=motions)).poses(name)


def foremost(poses, t):
    """The lower row's foremost upper edge, the middle of it."""
    row = poses.vertices("Lower", t)
    rest = design().part("Lower").vertices_mm
    edge = (rest[:, 2] == INCISAL[2]) & (rest[:, 1] == INCISAL[1])
    return row[edge].mean(axis=0)


def test_incisors_go_as_far_as_was_measured():
    """Means of Hirsch et al. 2006 (n = 1,011): 8.2 mm forward, 10.6 left, 10.2 right."""
    assert {way: AMOUNTS_MM[way] for way in Way} == {Way.AHEAD: 8.2, Way.LEFT: 10.6, Way.RIGHT: 10.2}
    gone = {name: foremost(poses_of(name), 1.0) - INCISAL for name in ("protrusion", *SIDES)}
    assert gone["protrusion"][2] == pytest.approx(8.2, abs=0.3)
    assert gone["protrusion"][0] == pytest.approx(0.0, abs=1e-9)
    assert gone["laterotrusion_left"][0] == pytest.approx(10.6, abs=0.3)
    assert gone["laterotrusion_right"][0] == pytest.approx(-10.2, abs=0.3)


@pytest.mark.parametrize("amount", [2.0, 5.0, 12.0])
@pytest.mark.parametrize("way", list(Way))
def test_stated_way_is_gone(way, amount):
    gone = foremost(poses_of("own", way=way, amount_mm=amount), 1.0) - INCISAL
    axis = {Way.LEFT: [1, 0, 0], Way.RIGHT: [-1, 0, 0], Way.AHEAD: [0, 0, 1]}[way]
    assert gone @ axis == pytest.approx(amount, abs=0.04 * amount)


def test_teeth_part_by_the_mean_overbite_over_the_first_2_mm():
    """Upper teeth overlap lower ones by 2.9 mm on average (Brunelle et al. 1996)."""
    poses = poses_of("protrusion")
    sunk = [INCISAL[1] - foremost(poses, t)[1] for t in (0.0, 2.0 / 8.2, 1.0)]
    slide_down = sunk[2] - sunk[1]
    assert sunk[0] == pytest.approx(0.0, abs=1e-9)
    slid = poses.bones.jaw(1.0).apply(np.zeros((1, 3))) - poses.bones.jaw(2.0 / 8.2).apply(np.zeros((1, 3)))
    assert sunk[1] + slid[0, 1] * (2.0 / 8.2) / (1.0 - 2.0 / 8.2) == pytest.approx(2.9, abs=0.05)
    assert slide_down == pytest.approx(-slid[0, 1], abs=1e-9)


@pytest.mark.parametrize("name", SIDES)
def test_working_condyle_stays_and_the_other_goes_ahead_and_down_its_path(name):
    """The other condyle's way is the chord of the turn, 2 * 99.6 * sin(angle / 2), below the horizontal."""
    poses = poses_of(name, way=Way(name.removeprefix("laterotrusion_")), part_mm=0.0)
    side, made = SIDES[name], poses_of("jaw").source.hinge
    working, other = (made.point_mm + sign * side * CONDYLE_HALF_MM * made.axis for sign in (1.0, -1.0))
    motion = poses.bones.jaw(1.0)
    assert motion.apply(working) == pytest.approx(working, abs=1e-9)
    way = motion.apply(other) - other
    assert np.linalg.norm(way) == pytest.approx(4 * CONDYLE_HALF_MM * np.sin(np.radians(motion.angle_deg) / 2))
    path = made.slide_mm / np.linalg.norm(made.slide_mm)
    inward = np.degrees(np.arctan2(way @ made.axis * side, way @ path))
    assert inward == pytest.approx(motion.angle_deg / 2, abs=1e-6)
    assert np.cross(way, path) @ made.axis == pytest.approx(0.0, abs=1e-6)
    assert path[2] > 0.0 > path[1]
    assert 5.0 < motion.angle_deg < 9.0


def test_left_and_right_are_mirror_images():
    left, right = (poses_of("own", way=way, amount_mm=9.0) for way in (Way.LEFT, Way.RIGHT))
    one, two = foremost(left, 1.0), foremost(right, 1.0)
    assert one == pytest.approx(two * [-1, 1, 1], abs=1e-6)


@pytest.mark.parametrize("name", ["protrusion", *SIDES])
def test_lower_lip_teeth_and_piece_go_with_the_jaw_and_the_upper_ones_stay(name):
    piece = Part("Piece", "appliance", *box([-30, -13, 104], [-20, -3, 108]))
    above = Part("Above", "appliance", *box([-30, 5, 104], [-20, 10, 108]))
    poses = Fitting(design(piece, above), hinge(25.0)).poses(name)
    jaw, base = poses.bones.jaw(0.7), design().base.vertices_mm
    lower = base[:, 1] < 0
    assert np.allclose(poses.vertices("Head", 0.7)[lower], jaw.apply(base[lower]), atol=1e-6)
    assert np.allclose(poses.vertices("Head", 0.7)[~lower], base[~lower], atol=1e-9)
    assert np.allclose(poses.vertices("Lower", 0.7), jaw.apply(design().part("Lower").vertices_mm), atol=1e-9)
    assert np.allclose(poses.vertices("Piece", 0.7), jaw.apply(piece.vertices_mm), atol=1e-4)
    for still in ("Upper", "Above"):
        assert np.allclose(poses.vertices(still, 0.7), poses.fitting.snapshot.part(still).vertices_mm, atol=1e-9)


def test_open_scan_is_closed_first():
    wide = poses_of("jaw", slide_deg_per_mm=1e12)
    posed = {part.name: wide.vertices(part.name, 0.4) for part in wide.fitting.snapshot.parts}
    snapshot = wide.fitting.snapshot
    parts = tuple(replace(part, vertices_mm=posed[part.name]) for part in snapshot.parts)
    marks = dict(snapshot.landmarks)
    for name in ("stomion_inferius", "gnathion", "labiale_inferius"):
        marks[name] = wide.bones.jaw(0.4).apply(marks[name])
    brief = hinge(25.0, rest_deg=10.0)
    opened = Fitting(replace(snapshot, parts=parts, landmarks=marks), brief).poses("laterotrusion_left")
    closed = Fitting(snapshot, hinge(25.0)).poses("laterotrusion_left")
    assert np.allclose(opened.vertices("Lower", 0.0), closed.vertices("Lower", 0.0), atol=1e-9)
    assert np.allclose(opened.vertices("Lower", 0.6), closed.vertices("Lower", 0.6), atol=0.3)


def test_a_brief_that_names_them_has_them_looked_at():
    text = "[motions.laterotrusion_left]\nexcursion = {}\n[motions.chew]\nexcursion = { way = 'right', amount_mm = 4 }"
    brief = parse_brief(text)
    assert brief.motions["laterotrusion_left"].excursion == ExcursionBrief(Way.LEFT)
    assert brief.motions["chew"].excursion == ExcursionBrief(Way.RIGHT, 4.0)
    strip = Part("Strip", "appliance", *lips(8.0), material="silicone")
    fitting = Fitting(design(replace(strip, vertices_mm=strip.vertices_mm + [0, 0, 4.0])), brief)
    assert fitting.motion_names == ("chew", "jaw", "laterotrusion_left")
    assert Fitting(design(), Brief()).motion_names == ("jaw",)
    outcome = drain(strain.CHECK.measure(fitting, brief))
    assert {"stretch_by_t_chew", "stretch_by_t_laterotrusion_left"} <= set(outcome.curves)


def test_interference_sees_what_only_a_way_to_the_side_meets():
    """Teeth 4 mm beside a wall that reaches far: they touch after 4 of 10.6 mm and go in by the rest of it."""
    row = Part("Lower", "lower_teeth", *box([-10, -14, 70], [10, -4, 78]))
    wall = Part("Wall", "upper_teeth", *box([14, -40, 50], [40, -1, 93]))
    brief = Brief(
        motions={**hinge(25.0).motions, "laterotrusion_left": MotionBrief(excursion=ExcursionBrief(Way.LEFT))}
    )
    fitting = Fitting(mouth(row, wall), brief)
    outcome = drain(interference.CHECK.measure(fitting, brief))
    assert outcome.measures["worst_motion"] == outcome.measures["start_motion"] == "laterotrusion_left"
    assert outcome.measures["start_t"] == pytest.approx(4.0 / 10.6, abs=0.02)
    inside_mm = fitting.poses("laterotrusion_left").vertices("Lower", 1.0)[:, 0].max() - 14.0
    assert inside_mm == pytest.approx(6.6, abs=0.7)
    assert outcome.measures["hard_penetration_mm"] == pytest.approx(inside_mm, abs=0.01)


@pytest.mark.parametrize(
    "text",
    ["[motions.chew]\nexcursion = {}", "[motions.chew]\nexcursion = { way = 'down' }",
     "[motions.protrusion]\nexcursion = { amount_mm = -1 }", "[motions.protrusion]\nexcursion = { part_mm = -1 }",
     "[motions.protrusion]\nexcursion = {}\nkeys = {}"],
)  # fmt: skip
def test_what_means_nothing_is_refused(text):
    with pytest.raises(BadValue):
        parse_brief(text)


def test_without_landmarks_there_is_none():
    with pytest.raises(NoMotion, match="landmarks"):
        Fitting(Snapshot("s", parts=design().parts), Brief()).poses("protrusion")


def test_shares_of_a_motion_add_up_and_a_whole_one_is_the_motion():
    motion = RigidMotion(rotation_matrix(np.array([0.3, -0.4, 0.2])), np.array([3.0, -5.0, 2.0]))
    points = RNG.normal(size=(50, 3)) * 40
    assert np.allclose(shared_motion(motion, points, np.ones(50)), motion.apply(points), atol=1e-10)
    assert np.array_equal(shared_motion(motion, points, np.zeros(50)), points)
    third = shared_motion(motion, points, np.full(50, 1 / 3))
    twice = shared_motion(motion, third, np.full(50, 2 / 3))
    assert np.allclose(twice, motion.apply(points), atol=1e-10)


@pytest.mark.parametrize("angle", [0.0, 1e-9, 1e-5, 1e-3, 0.5])
def test_share_of_a_turn_is_a_smaller_turn_and_of_a_shift_a_smaller_shift(angle):
    axis, place, points = np.array([0.0, 0.6, 0.8]), np.array([5.0, 1.0, -2.0]), RNG.normal(size=(9, 3)) * 40
    shares = np.linspace(0.0, 1.0, 9)
    turned = [turn_about(place, axis, share * angle).apply(point) for share, point in zip(shares, points, strict=True)]
    assert np.allclose(shared_motion(turn_about(place, axis, angle), points, shares), turned, atol=1e-9)
    shift = RigidMotion(np.eye(3), np.array([4.0, 5.0, 6.0]))
    assert np.allclose(shared_motion(shift, points, shares), points + np.outer(shares, [4.0, 5.0, 6.0]))
