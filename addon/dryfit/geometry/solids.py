"""What closed objects enclose when they have several pieces: cavities taken out, nested pieces counted once."""

import numpy as np

from ..model.arrays import BoolArray, FloatArray, IntArray
from .inertia import Bulk, closed_bulk, together
from .rows import row_all
from .surface import Surface
from .topology import face_pieces, grouped


def welded_faces(vertices_mm: FloatArray, faces: IntArray) -> IntArray:
    """Return the faces ``(m, 3)`` with vertices at the same position named once, so that pieces hang together."""
    _, first, place = np.unique(vertices_mm, axis=0, return_index=True, return_inverse=True)
    welded: IntArray = first[place.reshape(-1)][faces]
    return welded


def solid_pieces(vertices_mm: FloatArray, faces: IntArray) -> list[Bulk]:
    """Return the material of each separate piece of closed faces ``(m, 3)``; positive whichever way they look.

    A piece inside another that looks the other way is a cavity and is taken out of it; one that looks the same way is
    already inside and isn't counted again. Pieces that only partly overlap are counted in full.
    """
    pieces = [faces[group] for group in grouped(face_pieces(faces))]
    bulks = [closed_bulk(vertices_mm, piece) for piece in pieces]
    holders = _holders(vertices_mm, pieces, bulks)
    roots: dict[int, list[Bulk]] = {}
    for number, around in enumerate(holders):
        root = next((other for other in around if not holders[other]), number)
        roots.setdefault(root, []).append(_counted(number, bulks, holders))
    return [together(group) for group in roots.values()]


def _counted(number: int, bulks: list[Bulk], holders: list[list[int]]) -> Bulk:
    """Return a piece's share of the material: in full, as a cavity (negative), or nothing."""
    bulk, around = bulks[number], holders[number]
    if not around:
        return bulk.scaled(_sign(bulk))
    innermost = max(around, key=lambda other: len(holders[other]))
    if _sign(bulks[innermost]) == _sign(bulk):
        return bulk.scaled(0.0)
    in_material = len(around) % 2 == 1
    return bulk.scaled(-_sign(bulk) if in_material else _sign(bulk))


def _sign(bulk: Bulk) -> float:
    return -1.0 if bulk.volume_mm3 < 0.0 else 1.0


def _holders(vertices_mm: FloatArray, pieces: list[IntArray], bulks: list[Bulk]) -> list[list[int]]:
    """Return for each piece the larger pieces that hold all of it."""
    owns = [vertices_mm[np.unique(piece)] for piece in pieces]
    low, high = (np.array([pick(own, axis=0) for own in owns]) for pick in (np.min, np.max))
    size = np.abs([bulk.volume_mm3 for bulk in bulks])
    held: list[list[int]] = [[] for _ in pieces]
    for other, piece in enumerate(pieces):
        inside: BoolArray = row_all(low >= low[other]) & row_all(high <= high[other]) & (size < size[other])
        surface = Surface(vertices_mm, piece) if inside.any() else None
        for number in np.flatnonzero(inside):
            if surface is not None and (surface.clearance_mm(owns[number]) < 0.0).all():
                held[number].append(other)
    return held
