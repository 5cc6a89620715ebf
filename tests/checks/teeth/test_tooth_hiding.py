"""Only what may hide teeth is looked at; nothing that does hide them may be left out."""

import numpy as np
import pytest

from dryfit.checks.teeth.hiding import ball_round, may_hide
from dryfit.geometry import Surface


def scattered(count, seed):
    """Triangles of every size from 1 to 400 mm, all round the teeth and up to the eyes."""
    rng = np.random.default_rng(seed)
    middles = rng.normal(0.0, 1.0, (count, 1, 3)) * rng.uniform(20, 900, (count, 1, 1))
    shapes = rng.normal(0.0, 1.0, (count, 3, 3)) * np.exp(rng.uniform(0, 6, (count, 1, 1)))
    return (middles + shapes).reshape(-1, 3), np.arange(3 * count).reshape(-1, 3)


@pytest.mark.parametrize("seed", range(6))
def test_rays_meet_the_same_without_what_is_left_out(seed):
    vertices, faces = scattered(1500, seed)
    rng = np.random.default_rng(100 + seed)
    teeth = rng.uniform([-30, -8, -20], [30, 8, 20], (400, 3)) + [5.0, -3.0, 12.0]
    eyes = [np.array(eye, float) for eye in ([0, 0, 1500], [900, 0, 700], [-600, -300, 200])]
    kept = may_hide(vertices, faces, eyes, *ball_round(teeth))
    assert 0.05 < kept.mean() < 0.9
    everything, some = Surface(vertices, faces), Surface(vertices, faces[kept])
    for eye in eyes:
        way = eye - teeth
        length = np.linalg.norm(way, axis=1)
        assert np.array_equal(everything.blocked(teeth, way, length), some.blocked(teeth, way, length))


def test_an_eye_among_the_teeth_leaves_what_is_round_it():
    vertices, faces = scattered(300, 9)
    teeth = np.array([[-30.0, 0, 0], [30, 0, 0], [0, 10, 0]])
    eye = np.array([1.0, 2.0, 3.0])
    kept = may_hide(vertices, faces, [eye], *ball_round(teeth))
    everything, some = Surface(vertices, faces), Surface(vertices, faces[kept])
    length = np.linalg.norm(eye - teeth, axis=1)
    assert np.array_equal(everything.blocked(teeth, eye - teeth, length), some.blocked(teeth, eye - teeth, length))


def test_the_ball_holds_every_point():
    points = np.random.default_rng(3).normal(0, 20, (200, 3))
    middle, radius_mm = ball_round(points)
    assert np.linalg.norm(points - middle, axis=1).max() <= radius_mm + 1e-9
