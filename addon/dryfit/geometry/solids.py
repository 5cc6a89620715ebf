"""What a closed object encloses when it has several pieces: cavities taken out, nested pieces counted once."""

import numpy as np

from ..model.arrays import FloatArray, IntArray
from .inertia import Bulk, closed_bulk, together
from .surface import Surface
from .topology import face_pieces


def solid_bulk(vertices_mm: FloatArray, faces: IntArray) -> Bulk:
    """Return the material of closed faces ``(m, 3)``; positive whichever way they look.

    A piece inside another that looks the other way is a cavity and is taken out; one that looks the same way is
    already inside and is not counted again. Pieces that only partly overlap are counted in full.
    """
    label = face_pieces(faces)
    pieces = [faces[label == number] for number in range(int(label.max(initial=-1)) + 1)]
    bulks = [closed_bulk(vertices_mm, piece) for piece in pieces]
    if len(pieces) == 1:
        return bulks[0].scaled(_sign(bulks[0]))
    holders = [_holders(number, vertices_mm, pieces, bulks) for number in range(len(pieces))]
    return together(_counted(number, bulks, holders) for number in range(len(pieces)))


def _counted(number: int, bulks: list[Bulk], holders: list[list[int]]) -> Bulk:
    """Return a piece's share of the material: in full, as a cavity (negative), or nothing."""
    bulk, around = bulks[number], holders[number]
    if not around:
        return bulk.scaled(_sign(bulk))
    innermost = max(around, key=lambda other: len(holders[other]))
    if _sign(bulks[innermost]) == _sign(bulk):
        return bulk.scaled(0.0)
    material_outside = len(around) % 2 == 1
    return bulk.scaled(-_sign(bulk) if material_outside else _sign(bulk))


def _sign(bulk: Bulk) -> float:
    return -1.0 if bulk.volume_mm3 < 0.0 else 1.0


def _holders(number: int, vertices_mm: FloatArray, pieces: list[IntArray], bulks: list[Bulk]) -> list[int]:
    """Return the larger pieces that hold all of one piece."""
    own = vertices_mm[np.unique(pieces[number])]
    found = []
    for other, piece in enumerate(pieces):
        if other == number or abs(bulks[other].volume_mm3) <= abs(bulks[number].volume_mm3):
            continue
        outer = vertices_mm[np.unique(piece)]
        boxed = (own.min(axis=0) >= outer.min(axis=0)).all() and (own.max(axis=0) <= outer.max(axis=0)).all()
        if boxed and (Surface(vertices_mm, piece).clearance_mm(own) < 0.0).all():
            found.append(other)
    return found
