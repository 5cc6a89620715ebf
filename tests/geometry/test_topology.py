"""Edges, borders and pieces."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from dryfit.geometry.topology import (
    border_chains,
    border_edges,
    connected,
    crowded_edges,
    face_pieces,
    is_closed,
    mesh_edges,
    spread,
)
from shapes import icosphere, open_edges, sheet, slab, torus


def test_euler_numbers():
    for (vertices, faces), genus in ((icosphere(2), 0), (torus(around=12, across=8), 1)):
        edges = mesh_edges(faces)
        assert len(vertices) - len(edges.ends) + len(faces) == 2 - 2 * genus
        assert is_closed(faces)
        assert not len(border_edges(faces))


def test_the_border_of_a_sheet_is_one_loop_all_round():
    vertices, faces = sheet(10.0, 5)
    edges = border_edges(faces)
    assert {tuple(edge) for edge in edges.tolist()} == {tuple(edge) for edge in open_edges(faces).tolist()}
    (chain,) = border_chains(edges)
    assert chain[0] == chain[-1]
    assert len(chain) == 21
    assert not is_closed(faces)
    assert is_closed(slab(vertices, faces, np.ones(len(vertices)))[1])


def test_a_fin_is_a_crowded_edge():
    vertices, faces = sheet(10.0, 2)
    edge = mesh_edges(faces).ends[mesh_edges(faces).uses == 2][0]
    assert crowded_edges(faces) == 0
    assert crowded_edges(np.vstack([faces, [*edge, len(vertices)]])) == 1


def test_pieces_are_counted():
    _, faces = icosphere(1)
    label = face_pieces(np.vstack([faces, faces + 100, faces + 200]))
    assert np.array_equal(label, np.repeat([0, 1, 2], len(faces)))


@given(st.lists(st.tuples(st.integers(0, 19), st.integers(0, 19)), max_size=40))
def test_labels_agree_with_a_plain_search(pairs):
    label = connected(20, np.array(pairs, dtype=np.int64).reshape(-1, 2))
    groups = [{i} for i in range(20)]
    for a, b in pairs:
        one, other = (next(group for group in groups if item in group) for item in (a, b))
        if one is not other:
            groups.remove(other)
            one |= other
    for i in range(20):
        for j in range(20):
            together = any(i in group and j in group for group in groups)
            assert (label[i] == label[j]) == together


def test_spreading_stops_where_it_may_not_go():
    chain = np.array([[0, 1], [1, 2], [2, 3], [3, 4]])
    seeds = np.array([True, False, False, False, False])
    allowed = np.array([True, True, False, True, True])
    assert spread(seeds, allowed, chain).tolist() == [True, True, False, False, False]
