"""By how much a tooth or piece of hardware must lose height for the mouth to shut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...geometry import Surface
from ...geometry.meeting import meeting_points
from ...geometry.rigid import fit_rigid
from ...model.arrays import FloatArray, IntArray
from ..mouth.lip_skin import LipSkin
from ..tooth_names import pieces_of, plain_name
from .contact import MouthPair, PairWatch

LIP_THICKNESS_MM = 15.0
"""Lips are 12.6 to 15.1 mm thick (Arnett et al. 1999, AJODO 116:239-253, from memory)."""


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
    cut_mm
        Height at which it must end, jaw closed, along the closing direction, mm.
    vertices
        Vertices of the first body beyond that height.
    at_mm
        The one that stands furthest, jaw closed, world space.
    """

    pair: MouthPair
    piece: str
    shorten_mm: float
    cut_mm: float
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


def tissue_depth_mm(points_mm: FloatArray, lip: LipSkin, t: float) -> FloatArray:
    """Return how deep points ``(k, 3)`` are in one lip, ``(k,)``, mm: the way out through its nearest skin.

    Zero outside. Each part of the lip is asked by itself and the deepest answer counts. Deeper than
    ``LIP_THICKNESS_MM`` is no longer in the lip: its skin is cut open behind, and what lies beyond is the mouth.
    """
    depth_mm = np.zeros(len(points_mm))
    for piece in lip.pieces:
        inside_mm = -Surface(piece.vertices(t), piece.faces).clearance_mm(points_mm)
        depth_mm = np.fmax(depth_mm, np.where(inside_mm <= LIP_THICKNESS_MM, inside_mm, 0.0))
    return depth_mm


def first_bite(watch: PairWatch, poses: Sequence[float], toward: FloatArray) -> FloatArray:
    """Return the lowest place on each triangle of a pair's first body that the second one reaches, ``(m,)``, mm.

    Parameters
    ----------
    watch
        The pair.
    poses
        The poses looked at; what is found is carried back to t = 0 with the first body.
    toward
        Unit vector ``(3,)`` along which the first body stands up.

    Returns
    -------
    FloatArray
        Height along ``toward``; inf for triangles that are never reached.
    """
    first, second = watch.pair.first, watch.pair.second
    lowest = np.full(len(first.faces), np.inf)
    closed_mm = first.posed(0.0)
    for t in poses:
        pairs = watch.crossings(t)
        if len(pairs):
            posed_mm = first.posed(t)
            points, rows = meeting_points(posed_mm, first.faces, second.posed(t), second.faces, pairs)
            back = fit_rigid(posed_mm, closed_mm)
            np.minimum.at(lowest, pairs[rows, 0], back.apply(points) @ toward)
    return lowest


def excesses(watch: PairWatch, poses: Sequence[float], toward: FloatArray, least_mm: float) -> list[Excess]:
    """Return what each piece of a pair's rigid first body must lose to clear the second, the largest first.

    A piece is cut off at the lowest place that is reached at any of the poses; what is left is clear of all of them.

    Parameters
    ----------
    watch, poses, toward
        As for ``first_bite``.
    least_mm
        Pieces with less are left out.
    """
    pair = watch.pair
    if pair.first.part is None:
        return []
    bite = first_bite(watch, poses, toward)
    per_vertex = np.full(len(pair.first.part.vertices_mm), np.inf)
    np.minimum.at(per_vertex, pair.first.faces.ravel(), np.repeat(bite, 3))
    closed_mm = pair.first.posed(0.0)
    height_mm = closed_mm @ toward
    found = []
    for piece, vertices in pieces_of(pair.first.part):
        cut_mm = float(per_vertex[vertices].min())
        tip = int(vertices[height_mm[vertices].argmax()])
        if height_mm[tip] - cut_mm > least_mm:
            x, y, z = (float(value) for value in closed_mm[tip])
            standing = vertices[height_mm[vertices] > cut_mm]
            found.append(Excess(pair, piece, float(height_mm[tip]) - cut_mm, cut_mm, standing, (x, y, z)))
    return sorted(found, key=lambda excess: (-excess.shorten_mm, excess.piece))
