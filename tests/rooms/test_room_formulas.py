"""Rooms that a formula gives: plates on a hinge, a sphere in a cone of sight, a lid under a fold, arches that close."""

from dataclasses import replace

import numpy as np
import pytest

from dryfit.model.brief import Brief
from dryfit.model.limits import Limits
from dryfit.model.progress import drain
from dryfit.model.snapshot import Motion, Part, Snapshot
from dryfit.performer.fitting import Fitting
from dryfit.rooms.ball import touching_balls
from dryfit.rooms.growing import even_height_mm, first_entry_mm, passing_mm
from dryfit.rooms.meeting import meeting_stops, poses_of
from dryfit.rooms.skin import REACH_MM, Ground
from dryfit.rooms.teeth import teeth_room
from dryfit.rooms.ways import Ways
from room_heads import bare_head
from shapes import icosphere

from dryfit.geometry import Surface  # isort: skip

GIVE_MM = Limits().overlap_soft_review_mm


def plates(half_angle_deg, length_mm=60.0, steps=24):
    """Two square plates that share an edge, each so far from the plane between them; facing each other."""
    along = np.linspace(0.0, length_mm, steps + 1)
    side = np.linspace(-length_mm / 2, length_mm / 2, steps + 1)
    turn = np.radians(half_angle_deg)
    points, faces = [], []
    for sign in (1.0, -1.0):
        away, across = (grid.ravel() for grid in np.meshgrid(along, side, indexing="ij"))
        points.append(np.stack([across, away * np.cos(turn), sign * away * np.sin(turn)], axis=1))
        i, j = (grid.ravel() for grid in np.meshgrid(np.arange(steps), np.arange(steps), indexing="ij"))
        a = i * (steps + 1) + j
        quads = np.stack([a, a + 1, a + steps + 2, a + steps + 1], axis=1)
        quads = quads[:, ::-1] if sign > 0 else quads
        faces.append(np.concatenate([quads[:, :3], quads[:, [0, 2, 3]]]) + len(points[0]) * (sign < 0))
    return np.concatenate(points), np.concatenate(faces)


def outward_of(points, half_angle_deg):
    turn = np.radians(half_angle_deg)
    sign = np.where(np.arange(len(points)) < len(points) // 2, 1.0, -1.0)
    return np.stack([0.0 * sign, np.sin(turn) * np.ones_like(sign), -sign * np.cos(turn)], axis=1)


@pytest.mark.parametrize("half_angle_deg", [8.0, 15.0, 25.0])
def test_the_ball_between_two_plates_on_a_hinge(half_angle_deg):
    """At a way d from the hinge the ball that touches both has the radius d tan(a)."""
    points, faces = plates(half_angle_deg)
    away = np.hypot(points[:, 1], points[:, 2])
    asked = np.flatnonzero((away > 5.0) & (away < 25.0) & (np.abs(points[:, 0]) < 10.0))
    surface = Surface(points, faces, facing_out=True)
    balls = touching_balls(surface, points[asked], outward_of(points, half_angle_deg)[asked], np.full(len(asked), 15.0))
    expected = np.minimum(away[asked] * np.tan(np.radians(half_angle_deg)), 15.0)
    np.testing.assert_allclose(balls.radius_mm, expected, rtol=0.01)


def test_plates_that_a_motion_closes_leave_half_of_what_is_between_them():
    heights, _, away, inner = folding()
    expected = away[inner] * np.tan(np.radians(15.0)) + GIVE_MM / 2.0
    np.testing.assert_allclose(heights["meeting"][inner], expected, rtol=0.01)


def folding(brief=None, marked=None):
    """Two plates that a motion closes to 30 degrees, the heights of what stops between them, and where those count."""
    points, faces = plates(40.0)
    closed, _ = plates(15.0)
    areas = {} if marked is None else {"dryfit_taken": marked(points).astype(float)}
    motion = Motion("fold", np.array([0.0, 1.0]), {"Plates": np.stack([points, closed])})
    part = Part("Plates", "base", points, faces, areas=areas)
    fitting = Fitting(Snapshot("plates", parts=(part,), motions={"fold": motion}), brief or Brief())
    away = np.hypot(points[:, 1], points[:, 2])
    inner = (away > 8.0) & (away < 25.0) & (np.abs(points[:, 0]) < 12.0)
    skin = Ground(Surface(points, faces, facing_out=True), outward_of(points, 40.0), inner)
    poses, _ = drain(poses_of(fitting))
    stops = drain(meeting_stops(fitting, skin, Limits(), poses, np.full(len(points), REACH_MM)))
    return {stop.id: stop.height_mm for stop in stops}, points, away, inner


def test_a_side_that_is_taken_has_all_that_is_between_and_the_other_none():
    """The ball between the plates is 2 d tan(a) wide; half of it each without the mark."""
    even, *_ = folding()
    heights, points, away, inner = folding(marked=lambda points: points[:, 2] > 0.0)
    upper, lower = inner & (points[:, 2] > 0.0), inner & (points[:, 2] < 0.0)
    wide = 2.0 * away * np.tan(np.radians(15.0)) + GIVE_MM / 2.0
    np.testing.assert_allclose(heights["meeting"][upper], wide[upper], rtol=0.01)
    assert (heights["taken"][lower] == 0.0).all() and not np.isfinite(heights["taken"][upper]).any()
    assert "taken" not in even and (heights["meeting"][upper] > even["meeting"][upper]).all()


def test_beside_what_is_taken_forms_keep_off_what_stands_there():
    """Where half of a plate is taken, the other plate gets nothing before it and goes up beside it."""
    heights, points, away, inner = folding(marked=lambda points: (points[:, 2] > 0.0) & (points[:, 0] > 0.0))
    least = np.min([heights["meeting"], heights["taken"]], axis=0)
    before = inner & (points[:, 2] < 0.0) & (points[:, 0] > 2.5)
    beside = inner & (points[:, 2] < 0.0) & (points[:, 0] < -11.0) & (away < 12.0)
    assert (least[before] < 1e-6).all() and (least[beside] > 1.0).all()


def test_two_sides_that_are_both_taken_share_evenly():
    even, *_ = folding()
    both, *_ = folding(marked=lambda points: np.ones(len(points)))
    np.testing.assert_allclose(both["meeting"], even["meeting"])
    assert not np.isfinite(both["taken"]).any()


def test_a_crease_that_moves_as_one_is_no_obstacle():
    points, faces = plates(15.0)
    shift = np.stack([points, points + [0.0, 30.0, 5.0]])
    motion = Motion("carry", np.array([0.0, 1.0]), {"Plates": shift})
    snapshot = Snapshot("plates", parts=(Part("Plates", "base", points, faces),), motions={"carry": motion})
    fitting = Fitting(snapshot, Brief())
    skin = Ground(Surface(points, faces, facing_out=True), outward_of(points, 15.0), np.ones(len(points), bool))
    poses, _ = drain(poses_of(fitting))
    meeting = drain(meeting_stops(fitting, skin, Limits(), poses, np.full(len(points), REACH_MM)))[0]
    assert not np.isfinite(meeting.height_mm).any()


def test_a_lid_under_a_fold_about_one_ball():
    """Between a lid and a fold that both follow a ball the largest ball is half of what is between them."""
    lid, faces = icosphere(4, 12.6)
    fold, fold_faces = icosphere(4, 19.0)
    surface = Surface(
        np.concatenate([lid, fold]), np.concatenate([faces, fold_faces[:, ::-1] + len(lid)]), facing_out=True
    )
    outward = lid / np.linalg.norm(lid, axis=1, keepdims=True)
    balls = touching_balls(surface, lid, outward, np.full(len(lid), 15.0))
    np.testing.assert_allclose(balls.radius_mm, (19.0 - 12.6) / 2.0, rtol=0.01)


def test_a_sphere_in_a_cone_of_sight():
    """A ball below the line of sight grows until it touches the cone: |p + h n| at the cone's own angle."""
    half_deg, middle = 20.0, np.array([0.0, -45.0, -45.0])
    ball, faces = icosphere(3, 15.0)
    skin = Ground(Surface(ball + middle, faces, facing_out=True), ball / 15.0, np.ones(len(ball), bool))
    fan = Ways.about(np.array([0.0, -1.0, 0.0]), np.array([0.0, 0.0, 1.0]), np.zeros(3), 60.0)
    fan = fan.holding(fan.directions @ [0.0, -1.0, 0.0] > np.cos(np.radians(half_deg)))
    found = first_entry_mm(skin, np.arange(len(ball)), lambda points, _: fan.holds(points))
    expected = np.array([entry(point, way, half_deg) for point, way in zip(ball + middle, ball / 15.0, strict=True)])
    reached = np.isfinite(expected) & (expected > 5.0) & (expected < 50.0)
    assert reached.sum() > 30
    np.testing.assert_allclose(np.median(found[reached] / expected[reached]), 1.0, atol=0.003)
    assert np.mean(np.abs(found[reached] / expected[reached] - 1.0) < 0.01) > 0.9


def entry(point, way, half_deg):
    """The height at which a point that goes one way enters a cone about -y, by trial along a fine line."""
    heights = np.linspace(0.0, 60.0, 60001)
    path = point + heights[:, None] * way
    inside = -path[:, 1] > np.cos(np.radians(half_deg)) * np.linalg.norm(path, axis=1)
    return heights[inside.argmax()] if inside.any() else np.inf


def test_an_even_height_is_where_the_check_turns():
    assert even_height_mm(lambda height: height < 7.3) == pytest.approx(7.3, rel=0.01)
    assert even_height_mm(lambda height: True) == np.inf
    assert even_height_mm(lambda height: height <= 0.0) < 0.01


def test_heights_are_scaled_until_the_check_passes():
    ball, faces = icosphere(2, 10.0)
    skin = Ground(Surface(ball, faces), ball / 10.0, np.ones(len(ball), bool))
    heights = np.full(len(ball), 4.0)
    scaled = passing_mm(skin, heights, lambda standing: bool(standing.max() <= 3.0))
    assert scaled.max() == pytest.approx(3.0, rel=0.02)
    assert scaled.max() <= 3.0
    assert passing_mm(skin, heights, lambda standing: True) is heights


def test_two_arches_that_close_leave_what_is_between_them():
    """Lower teeth that stand a millimetre lower leave every tooth that met them a millimetre more."""
    head = bare_head()
    near, far = (drain(teeth_room(Fitting(each, Brief()))) for each in (head, lowered(head, 1.0)))
    gained = {one.name: other.closing_mm - one.closing_mm for one, other in zip(near.teeth, far.teeth, strict=True)}
    molars = [value for name, value in gained.items() if "molar" in name]
    assert len(molars) == 16
    np.testing.assert_allclose(molars, 1.0, rtol=0.01)


def lowered(head, by_mm):
    up = head.landmarks["sellion"] - head.landmarks["gnathion"]
    down = -by_mm * up / np.linalg.norm(up)
    parts = tuple(
        replace(part, vertices_mm=part.vertices_mm + down) if part.role == "lower_teeth" else part
        for part in head.parts
    )
    jaw = head.motions["jaw"]
    frames = dict(jaw.frames_mm) | {"LowerTeeth": jaw.frames_mm["LowerTeeth"] + down}
    return replace(head, parts=parts, motions=dict(head.motions) | {"jaw": Motion("jaw", jaw.frames_t, frames)})
