"""Balls within solids against closed forms, and what they say of two solids that overlap."""

import numpy as np
import pytest
import specimens as s

from dryfit.geometry import Surface
from dryfit.geometry.contact.inscribed import balls_in
from dryfit.geometry.contact.penetration import depths_below_mm
from dryfit.geometry.rigid import rotation_matrix
from shapes import icosphere, sheet

SPACING_MM = 1.0


def solid(mesh):
    return Surface(*mesh, facing_out=True)


def slab(low, high):
    """A closed box between two corners."""
    vertices, faces = s.box(*(np.asarray(high, float) - low))
    return vertices - vertices.min(axis=0) + low, faces


def deepest_mm(one, other):
    """How deep the balls and the corners of either are in the other."""
    found = []
    for mesh, into in ((one, other), (other, one)):
        balls = balls_in(solid(mesh), SPACING_MM)
        points = np.concatenate([mesh[0], balls.centres_mm(*mesh)])
        radius_mm = np.concatenate([np.zeros(len(mesh[0])), balls.radius_mm])
        found.append(depths_below_mm(solid(into), points, radius_mm=radius_mm)[0].max())
    return max(found)


def test_a_sphere_is_filled_by_one_ball():
    vertices, faces = icosphere(4, 10.0)
    balls = balls_in(solid((vertices, faces)), SPACING_MM)
    assert len(balls.radius_mm) > 900
    assert np.abs(balls.centres_mm(vertices, faces)).max() < 0.1
    assert balls.radius_mm == pytest.approx(10.0, abs=0.07)


def test_balls_lie_within_and_are_as_large_as_the_nearest_wall_allows():
    vertices, faces = slab([0, 0, 0], [30, 4, 6])
    balls = balls_in(solid((vertices, faces)), SPACING_MM)
    centres = balls.centres_mm(vertices, faces)
    room = np.minimum(centres, [30, 4, 6] - centres).min(axis=1)
    assert balls.radius_mm == pytest.approx(room, abs=1e-9)
    assert balls.radius_mm.max() == pytest.approx(2.0, abs=1e-9)


def test_a_sheet_holds_none():
    assert not len(balls_in(solid(sheet(10.0, 4)), SPACING_MM).radius_mm)


def test_finer_triangles_hold_as_many():
    coarse, fine = (len(balls_in(solid(icosphere(level, 10.0)), SPACING_MM).radius_mm) for level in (2, 6))
    assert coarse == pytest.approx(fine, rel=0.05)


def test_balls_go_along_with_a_pose():
    vertices, faces = s.box(8.0, 6.0, 4.0)
    balls = balls_in(solid((vertices, faces)), SPACING_MM)
    turn = rotation_matrix(np.array([0.3, -1.0, 0.5]))
    moved = balls.centres_mm(vertices @ turn.T + 5.0, faces)
    assert np.allclose(moved, balls.centres_mm(vertices, faces) @ turn.T + 5.0, atol=1e-9)


@pytest.mark.parametrize(
    ("low", "high", "wanted_mm"),
    [((0, 0, 4), (30, 4, 16), 4.0),  # walls flush on four sides, 6 mm over each other: 4 mm aside is the shortest way out
     ((0, 0, 9), (30, 4, 16), 1.0),  # the same, 1 mm over each other
     ((0, 3.9, 4), (30, 8, 16), 0.1),  # a graze of 0.1 mm, flush at both ends
     ((0, 4, 4), (30, 8, 16), 0.0),  # side by side, one wall on the other
     ((0, 0, 0), (30, 4, 10), 4.0),  # one and the same body twice
     ((10, 1, 3), (12, 3, 5), 3.0)],  # one wholly inside the other
)  # fmt: skip
def test_depth_of_boxes_with_flush_walls(low, high, wanted_mm):
    assert deepest_mm(slab([0, 0, 0], [30, 4, 10]), slab(low, high)) == pytest.approx(wanted_mm, abs=1e-6)


def test_depth_is_never_more_than_the_shift_that_parts_two_bodies():
    """Boxes turned at random: along each of their faces and crossed edges the shift that parts them is known."""
    rng = np.random.default_rng(4)
    for _ in range(12):
        one = s.box(*rng.uniform(2, 12, 3))
        turn = rotation_matrix(rng.normal(size=3))
        other = s.box(*rng.uniform(2, 12, 3))
        other = other[0] @ turn.T + rng.uniform(-3, 3, 3), other[1]
        axes = np.concatenate([np.eye(3), turn.T, np.cross(np.eye(3)[:, None], turn.T[None]).reshape(-1, 3)])
        axes = axes[np.linalg.norm(axes, axis=1) > 1e-6]
        axes /= np.linalg.norm(axes, axis=1, keepdims=True)
        a, b = one[0] @ axes.T, other[0] @ axes.T
        shift = np.minimum(a.max(axis=0) - b.min(axis=0), b.max(axis=0) - a.min(axis=0)).min()
        assert deepest_mm(one, other) <= max(shift, 0.0) + 1e-6
        assert deepest_mm(one, other) >= 0.3 * shift
