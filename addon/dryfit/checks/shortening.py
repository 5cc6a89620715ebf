"""By how much a tooth or piece of hardware must lose height for the mouth to shut."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..geometry import Surface
from ..model.arrays import BoolArray, FloatArray, IntArray
from .contact import Pair
from .lip_skin import LipSkin
from .tooth_names import pieces_of, plain_name


@dataclass(frozen=True)
class Excess:
    """What one piece has too much.

    Attributes
    ----------
    pair
        The pair it blocks.
    piece
        Its name: a tooth, or the part.
    shorten_mm
        What it must lose along the closing direction, mm.
    vertices
        Vertices of the first body that stand in the way.
    at_mm
        The one that stands furthest, world space.
    """

    pair: Pair
    piece: str
    shorten_mm: float
    vertices: IntArray
    at_mm: tuple[float, float, float]

    @property
    def part_name(self) -> str:
        """Name of the part the piece is of."""
        return self.pair.first.name

    @property
    def other_name(self) -> str:
        """Name of what it stands in."""
        second = self.pair.second
        return second.name if second.part is None else plain_name(second.part)


def overlap_mm(pair: Pair, t: float, toward: FloatArray) -> FloatArray:
    """Return how far each vertex of the first body stands past the second along ``toward``, ``(n,)``, mm.

    Parameters
    ----------
    pair
        The two bodies.
    t
        The pose.
    toward
        Unit vector ``(3,)`` from the first body's bone to the other.

    Returns
    -------
    FloatArray
        Height over the second body's nearest face in the same column; zero or less: not in the way; -inf:
        nothing in that column.
    """
    first_mm, second_mm = pair.first.posed(t), pair.second.posed(t)
    second = Surface(second_mm, pair.second.faces)
    start_mm = min(float((second_mm @ toward).min()), float((first_mm @ toward).min())) - 1.0
    height_mm = first_mm @ toward
    origins = first_mm + np.outer(start_mm - height_mm, toward)
    hits = second.first_hit(origins, np.broadcast_to(toward, origins.shape))
    return np.asarray(height_mm - start_mm - hits.distance_mm)


def tissue_depth_mm(points_mm: FloatArray, lip: LipSkin, t: float) -> FloatArray:
    """Return how deep points ``(k, 3)`` are in one lip, ``(k,)``, mm: the way out through its nearest skin.

    Zero outside. Each part of the lip is asked by itself and the deepest answer counts.
    """
    depth_mm = np.zeros(len(points_mm))
    for piece in lip.pieces:
        clearance_mm = Surface(piece.vertices(t), piece.faces).clearance_mm(points_mm)
        depth_mm = np.fmax(depth_mm, -clearance_mm)
    return depth_mm


def excesses(pair: Pair, t: float, toward: FloatArray, counts: BoolArray, least_mm: float) -> list[Excess]:
    """Return what each piece of a pair's rigid first body must lose at ``t``, the largest first.

    Parameters
    ----------
    pair, t, toward
        As for ``overlap_mm``.
    counts
        ``(n,)`` bool, vertices of the first body that can be in the way.
    least_mm
        Pieces with less are left out.
    """
    part = pair.first.part
    if part is None:
        return []
    overlap = np.where(counts, overlap_mm(pair, t, toward), -np.inf)
    posed_mm = pair.first.posed(t)
    found = []
    for piece, vertices in pieces_of(part):
        worst = int(vertices[overlap[vertices].argmax()])
        if overlap[worst] > least_mm:
            x, y, z = (float(value) for value in posed_mm[worst])
            standing = vertices[overlap[vertices] > 0.0]
            found.append(Excess(pair, piece, float(overlap[worst]), standing, (x, y, z)))
    return sorted(found, key=lambda excess: (-excess.shorten_mm, excess.piece))
