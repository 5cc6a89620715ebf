"""What touches what: edges, open borders, loops and connected pieces of a triangle mesh."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import BoolArray, IntArray
from ..model.kept_answers import KeptAnswers
from .rows import row_all

KNOWN = KeptAnswers(64.0, folder=lambda: None)
"""Edges and pairs of the meshes asked last: skins, rims, solids and patches of one piece all ask for the same ones."""


@dataclass(frozen=True)
class Edges:
    """Every edge once.

    Attributes
    ----------
    ends
        ``(e, 2)`` vertex indices, the lower first.
    uses
        ``(e,)`` number of faces on the edge: 1 on an open border, 2 inside, more where not manifold.
    of_face
        ``(m, 3)`` edge of each face's corner k to corner k + 1.
    """

    ends: IntArray
    uses: IntArray
    of_face: IntArray


def directed_edges(faces: IntArray) -> IntArray:
    """Return ``(m, 3, 2)``: each face's three edges in its own direction."""
    return np.stack([faces, np.roll(faces, -1, axis=1)], axis=2)


def mesh_edges(faces: IntArray) -> Edges:
    """Return every edge of ``(m, 3)`` faces once, with how often it is used; read-only."""
    return KNOWN.of(_mesh_edges, faces)


def _mesh_edges(faces: IntArray) -> Edges:
    start, end = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    span = int(faces.max(initial=0)) + 1
    sides = np.minimum(start, end).astype(np.int64) * span + np.maximum(start, end)
    keys, place, uses = np.unique(sides, return_inverse=True, return_counts=True)
    return Edges(np.stack([keys // span, keys % span], axis=1), uses, place.reshape(-1, 3))


def border_edges(faces: IntArray) -> IntArray:
    """Return the open border as directed edges ``(b, 2)``, the mesh on their left seen from outside."""
    edges = mesh_edges(faces)
    return directed_edges(faces)[edges.uses[edges.of_face] == 1]


def crowded_edges(faces: IntArray) -> int:
    """Return how many edges more than two faces share; none on a manifold mesh."""
    return int((mesh_edges(faces).uses > 2).sum())


def connected(count: int, pairs: IntArray) -> IntArray:
    """Label ``count`` things ``(count,)`` so that those joined by ``pairs`` ``(p, 2)`` share a label.

    Labels run from 0 in order of each piece's first member. Minimum labels travel over the pairs and
    through pointer jumping, so long chains cost a logarithmic number of passes.
    """
    root = np.arange(count)
    one, other = np.asarray(pairs, dtype=np.int64).reshape(-1, 2).T
    while True:
        low = np.minimum(root[one], root[other])
        before = root.copy()
        np.minimum.at(root, root[one], low)
        np.minimum.at(root, root[other], low)
        root = root[root]
        if np.array_equal(root, before):
            return np.unique(root, return_inverse=True)[1].reshape(count)


def face_pairs(faces: IntArray) -> IntArray:
    """Return ``(p, 2)`` pairs of faces that share an edge, read-only; a crowded edge chains its faces."""
    return KNOWN.of(_face_pairs, faces)


def _face_pairs(faces: IntArray) -> IntArray:
    of_face = mesh_edges(faces).of_face.ravel()
    order = np.argsort(of_face, kind="stable")
    same = of_face[order][1:] == of_face[order][:-1]
    owner = order // 3
    return np.stack([owner[:-1][same], owner[1:][same]], axis=1)


def face_pieces(faces: IntArray) -> IntArray:
    """Label faces ``(m,)`` by connected piece, over shared edges; read-only."""
    return KNOWN.of(_face_pieces, faces)


def _face_pieces(faces: IntArray) -> IntArray:
    return connected(len(faces), face_pairs(faces))


def label_facets(owner: IntArray, faces: IntArray) -> IntArray:
    """Label cut facets by the connected piece of the touched faces that they lie on; ``owner`` ``(q,)``."""
    touched = np.zeros(len(faces), dtype=bool)
    touched[owner] = True
    pairs = face_pairs(faces)
    piece = connected(len(faces), pairs[row_all(touched[pairs])])
    return np.unique(piece[owner], return_inverse=True)[1].reshape(len(owner))


def grouped(labels: IntArray) -> list[IntArray]:
    """Return the indices that carry each label, ascending by label and within it; of ``(n,)`` labels."""
    order = np.argsort(labels, kind="stable")
    return np.split(order, np.flatnonzero(np.diff(labels[order])) + 1) if len(order) else []


def is_closed(faces: IntArray) -> bool:
    """Tell whether no edge is open."""
    return bool(len(faces)) and not (mesh_edges(faces).uses == 1).any()


def border_chains(edges: IntArray) -> list[IntArray]:
    """Order directed border edges ``(b, 2)`` into vertex chains; a closed loop repeats its first vertex.

    Where chains branch, each outgoing edge is used once, so that every edge lies on exactly one chain.
    """
    waiting: dict[int, list[int]] = {}
    for start, end in edges.tolist():
        waiting.setdefault(start, []).append(end)
    arrivals = set(edges[:, 1].tolist())
    starts = [vertex for vertex in waiting if vertex not in arrivals] + list(waiting)
    chains = []
    for start in starts:
        while waiting.get(start):
            chain = [start]
            while waiting.get(chain[-1]):
                chain.append(waiting[chain[-1]].pop())
            chains.append(np.array(chain))
    return chains


def spread(seeds: BoolArray, allowed: BoolArray, pairs: IntArray) -> BoolArray:
    """Return what is reached from ``seeds`` ``(k,)`` over ``pairs`` through ``allowed`` members, seeds included."""
    joined = pairs[row_all((allowed | seeds)[pairs])]
    label = connected(len(seeds), joined)
    reached = np.zeros(label.max(initial=0) + 1, dtype=bool)
    reached[label[seeds]] = True
    answer: BoolArray = reached[label] & (allowed | seeds)
    return answer
