"""Crossing faces."""

import numpy as np
import pytest
import specimens as s

from dryfit.geometry import Surface


def plane(z, turn=None):
    vertices = np.array([[-10, -10, z], [10, -10, z], [10, 10, z], [-10, 10, z]], float)
    return (vertices if turn is None else vertices @ turn.T), np.array([[0, 1, 2], [0, 2, 3]])


def test_two_squares():
    upright = plane(0.3, np.array([[0, 0, 1], [0, 1, 0], [-1, 0, 0.0]]))
    found = Surface(*plane(0)).crossings(Surface(*upright))
    assert found.shape[1] == 2
    assert set(found[:, 0].tolist()) == {0, 1}


def test_touching_is_not_crossing():
    flat = Surface(*plane(0))
    assert len(flat.crossings(Surface(*plane(0)))) == 0
    assert len(flat.crossings(Surface(*plane(1)))) == 0
    standing = Surface([[0, 0, 0], [5, 0, 5], [-5, 0, 5]], [[0, 1, 2]])
    assert len(flat.crossings(standing)) == 0
    resting = s.box(4, 4, 4)
    assert len(flat.crossings(Surface(resting[0] + [1, 1, 2], resting[1]))) == 0
    assert len(flat.crossings(Surface(resting[0] + [1, 1, 1.9], resting[1]))) > 0


def test_itself():
    assert len(Surface(*s.sphere()).crossings(Surface(*s.sphere()))) == 0
    whole = Surface(*s.unweld(s.torus()))
    assert len(whole.crossings(whole)) == 0
    assert not whole.crosses_itself
    one, other = s.sphere(), (s.sphere()[0] + [50, 3, 1], s.sphere()[1])
    both = Surface(*s.join(one, other))
    pairs = both.crossings(both)
    assert both.crosses_itself
    assert (pairs[:, 0] < pairs[:, 1]).all()
    between = Surface(*one).crossings(Surface(*other)) + [0, len(one[1])]
    assert (pairs == between).all()


def test_more_pairs_than_the_first_guess():
    comb = np.arange(300) / 300.0
    vertices = np.array([[[x, -1, -1], [x, 2, -1], [x, 0.5, 2]] for x in comb]).reshape(-1, 3)
    faces = np.arange(900).reshape(-1, 3)
    turned = vertices[:, [1, 0, 2]] + [0.001, 0.0005, 0]
    found = Surface(vertices, faces).crossings(Surface(turned, faces))
    assert len(found) > 50000
    assert (np.lexsort((found[:, 1], found[:, 0])) == np.arange(len(found))).all()


@pytest.mark.parametrize("shift", [(50, 3, 1), (0.1, 0.2, 0.3), (179, 0, 0.5)])
def test_against_libigl(shift):
    pytest.importorskip("igl", reason="libigl is not installed")
    try:
        from igl.copyleft.cgal import intersect_other
    except ImportError:
        pytest.skip("libigl is installed without CGAL")
    a, b = s.sphere(), s.sphere()
    found = Surface(*a).crossings(Surface(b[0] + shift, b[1]))
    theirs = intersect_other(a[0], a[1].astype(np.int64), b[0] + shift, b[1].astype(np.int64), detect_only=True)
    pairs = np.asarray(theirs[0] if isinstance(theirs, tuple) else theirs)
    mine, exact = ({tuple(p) for p in rows.tolist()} for rows in (found, pairs))
    assert mine <= exact
    for i, j in exact - mine:
        assert overlap(a[0][a[1][i]], (b[0] + shift)[b[1][j]]) < 1e-12, "more than a touch"


def overlap(one, other):
    """How far the lesser side of one triangle reaches over the other's plane, the smaller of both ways round."""
    reach = []
    for a, b in ((one, other), (other, one)):
        normal = np.cross(b[1] - b[0], b[2] - b[0])
        heights = (a - b[0]) @ normal / np.linalg.norm(normal)
        reach.append(min(heights.max(), -heights.min()))
    return min(reach)
