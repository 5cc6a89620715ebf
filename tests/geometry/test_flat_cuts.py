"""Planes through tubes, boxes and folded sheets: chains with known lengths, whatever the triangles are."""

import numpy as np
import pytest

from dryfit.geometry.cuts.flat_cuts import corners_that_matter, flat_cuts
from mouth_shapes import box, joined, tube

RADIUS, AROUND = 6.0, 90
POLYGON = 2 * AROUND * RADIUS * np.sin(np.pi / AROUND)


def sheet(heights, width=20.0, columns=5):
    """A strip along a line (front, up), from left to right."""
    across = np.linspace(-width / 2, width / 2, columns)
    rows = np.array(heights, float)
    points = np.array([[x, *row] for row in rows for x in across])
    cells = [(r * columns + c, c) for r in range(len(rows) - 1) for c in range(columns - 1)]
    first = np.array([a for a, _ in cells])
    faces = np.concatenate(
        [
            np.stack([first, first + 1, first + columns], 1),
            np.stack([first + 1, first + columns + 1, first + columns], 1),
        ]
    )
    return points, faces


def test_a_tube_is_cut_in_closed_chains_as_long_as_its_outline():
    points, faces = tube((0.0, 3.0, 1.0), 20.0, RADIUS, around=AROUND)
    chains = flat_cuts(points, faces, np.array([-30.0, -7.3, 0.1, 12.9]))
    assert sorted(chain.place for chain in chains) == [1, 2, 3]
    for chain in chains:
        assert chain.closed
        assert chain.length_mm == pytest.approx(POLYGON, rel=1e-3)
        assert np.ptp(chain.points_mm[:, 0]) < 1e-12
        assert len(chain.points_mm) == len(chain.faces) + 1


def test_a_strip_is_cut_in_an_open_chain_from_end_to_end():
    points, faces = sheet([(0.0, 0.0), (3.0, 4.0), (3.0, 9.0)])
    (chain,) = flat_cuts(points, faces, np.array([1.7]))
    assert not chain.closed
    assert chain.length_mm == pytest.approx(10.0)
    ends = {tuple(np.round(end, 9)) for end in chain.points_mm[[0, -1]]}
    assert ends == {(1.7, 0.0, 0.0), (1.7, 3.0, 9.0)}


def test_pieces_follow_each_other_and_lie_in_the_triangles_they_are_of():
    points, faces = joined(tube((0.0, 0.0, 0.0), 9.0, RADIUS, around=31), box((-8, 20, 20), (8, 24, 26)))
    for chain in flat_cuts(points, faces, np.array([-3.21, 0.4, 5.05])):
        for face, start, end in zip(chain.faces, chain.points_mm[:-1], chain.points_mm[1:], strict=True):
            corners = points[faces[face]]
            normal = np.cross(corners[1] - corners[0], corners[2] - corners[0])
            for place in (start, end):
                assert abs((place - corners[0]) @ normal) < 1e-9 * np.linalg.norm(normal)
        inside = chain.length_mm * np.linspace(0.01, 0.99, 37)
        vertices, parts = chain.carried_by(inside)
        assert parts.sum(axis=1) == pytest.approx(np.ones(37))
        assert (points[vertices] * parts[:, :, None]).sum(axis=1) == pytest.approx(chain.at(inside))


def test_order_of_vertices_and_triangles_and_how_they_are_turned_changes_nothing():
    points, faces = tube((0.0, 0.0, 0.0), 9.0, RADIUS, around=31)
    rng = np.random.default_rng(3)
    order = rng.permutation(len(points))
    other = rng.permutation(np.argsort(order)[faces])[:, ::-1]
    places = np.array([-3.21, 0.4])
    one, two = flat_cuts(points, faces, places), flat_cuts(points[order], other, places)
    assert [chain.closed for chain in one] == [chain.closed for chain in two]
    assert [chain.length_mm for chain in one] == pytest.approx([chain.length_mm for chain in two])


def test_an_edge_of_three_triangles_ends_its_chains():
    points, faces = sheet([(0.0, 0.0), (0.0, 5.0)])
    fin, more = sheet([(0.0, 5.0), (4.0, 5.0)])
    third = np.concatenate([faces, more + 5, np.where(more < 5, more + 5, more + 10)])
    places = np.concatenate([points, fin[5:], fin[5:] + [0.0, -4.0, 4.0]])
    chains = flat_cuts(places, third, np.array([1.7]))
    assert sorted(chain.length_mm for chain in chains) == pytest.approx([4.0, 4.0, 5.0])


def test_a_place_that_runs_along_edges_is_cut_once():
    points, faces = sheet([(0.0, 0.0), (3.0, 4.0)])
    (chain,) = flat_cuts(points, faces, np.array([0.0]))
    assert chain.length_mm == pytest.approx(5.0)


def test_nothing_is_cut_where_nothing_is():
    points, faces = sheet([(0.0, 0.0), (3.0, 4.0)])
    assert flat_cuts(points, faces, np.array([99.0])) == []


def test_corners_on_a_straight_line_do_not_matter():
    line = np.array([(0, 0, 0), (0, 1, 0), (0, 2, 0), (0, 2, 3), (0, 2, 4)], float)
    assert corners_that_matter(line, 1e-6).tolist() == [0, 2, 4]


def test_what_is_left_out_lies_as_near_as_asked():
    angle = np.linspace(0.0, np.pi, 500)
    arc = np.stack([0 * angle, RADIUS * np.cos(angle), RADIUS * np.sin(angle)], axis=1)
    kept = corners_that_matter(arc, 0.003)
    assert len(kept) < 100
    sag = RADIUS * (1 - np.cos(np.diff(angle[kept]).max() / 2))
    assert sag <= 0.0031
