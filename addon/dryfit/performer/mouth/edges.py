"""The facing edges of the lips: lines of skin from before each margin to behind it, carried along at any t."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...geometry.cuts.flat_cuts import corners_that_matter
from ...geometry.rows import row_sums
from ...model.arrays import BoolArray, FloatArray, IntArray
from ..head_frame import HeadFrame
from ..motion.posed import Posed
from ..motion.poses import Poses
from .mouth_skin import MouthSkin
from .seam import LipStart

BEFORE_MM = 6.0
BEHIND_MM = 9.0
"""A lip's facing edge is the skin from so far before the seam, in sight, to so far behind its margin, round the lip."""
EDGE_MM = 4.0
"""Its height is that of the skin up to here behind the margin: what lies deeper may stand higher in an open mouth."""
BEHIND_SHARE = 0.35
"""Near the corners it ends at this share of the skin that is folded in, so that both edges stay apart."""
HIDDEN_MM = 12.0
"""A margin hidden behind the other lip is looked for this far behind the seam."""
LEVEL = 0.25
LEVEL_RUN_MM = 1.0
"""Skin behind the seam goes on to the margin as long as it rises by this share of the way over so long a run."""
STRAIGHT_MM = 0.003
"""Corners of an edge that lie off it by less are left out."""
UPPER, LOWER = -1.0, 1.0


@dataclass(frozen=True)
class CarriedLine:
    """A line on a skin.

    Attributes
    ----------
    skin
        Which of the skins.
    vertices, parts
        Which vertices of the skin carry each point of it, and each one's part, ``(k, 4)``.
    edge
        Which points' heights count, ``(k,)``.
    """

    skin: int
    vertices: IntArray
    parts: FloatArray
    edge: BoolArray


@dataclass(frozen=True)
class Carrier:
    """The points of all edges that one part carries.

    Attributes
    ----------
    part
        Its name.
    vertex_ids
        The vertices that carry them, ``(n,)``.
    rows
        Which points these are, ``(k,)``.
    corners, parts
        Which of the vertices carry each point, and each one's part, ``(k, 4)``.
    """

    part: str
    vertex_ids: IntArray
    rows: IntArray
    corners: IntArray
    parts: FloatArray


@dataclass(frozen=True)
class FacingEdges:
    """The facing edges of one lip at all stations, as straight pieces that the skin carries.

    Attributes
    ----------
    carriers
        What carries their points.
    pieces
        The two points of each piece at each station, ``(s, q, 2)``: each point starts one, a line's last a piece of
        no length, and that fills up.
    edge
        Pieces that start where height counts, ``(s, q)``.
    read
        Stations that have an edge, ``(s,)``.
    """

    carriers: tuple[Carrier, ...]
    pieces: IntArray
    edge: BoolArray
    read: BoolArray

    def carried(self, poses: Poses, frame: HeadFrame) -> Posed:
        """Return where the pieces are at any t of a motion, ``(s, q, 2, 3)``, head coordinates."""
        following = [poses.following(carrier.part, carrier.vertex_ids) for carrier in self.carriers]

        def posed(t: float) -> FloatArray:
            points = np.zeros((int(self.pieces.max(initial=0)) + 1, 3))
            for carrier, vertices in zip(self.carriers, following, strict=True):
                corners = frame.coordinates(vertices(t))[carrier.corners]
                points[carrier.rows] = row_sums(corners * carrier.parts[:, :, None])
            return np.asarray(points[self.pieces])

        return posed


def edge_line(spot: LipStart, side: float, folded_mm: float) -> CarriedLine:
    """Return the facing edge that begins at a spot.

    Parameters
    ----------
    spot
        Where the lip begins at the seam.
    side
        ``UPPER`` or ``LOWER``.
    folded_mm
        How long the skin is that is folded in between the lips.
    """
    chain, length_mm = spot.chain, spot.chain.length_mm
    ways = (chain.along_mm - spot.along_mm) * spot.inward
    if chain.closed:
        ways = np.concatenate([ways - length_mm, ways, ways + length_mm])
    margin_mm = _margin(spot, side)
    edge_mm = margin_mm + EDGE_MM
    last_mm = min(margin_mm + BEHIND_MM, BEHIND_SHARE * folded_mm, float(ways.max()))
    first_mm = max(-BEFORE_MM, float(ways.min()), last_mm - length_mm if chain.closed else -BEFORE_MM)
    inside = np.unique(np.append(ways, edge_mm))
    ways = np.concatenate([[first_mm], inside[(inside > first_mm) & (inside < last_mm)], [last_mm]])
    along_mm = spot.along_mm + spot.inward * ways
    along_mm = along_mm % length_mm if chain.closed else along_mm
    kept = np.union1d(corners_that_matter(chain.at(along_mm), STRAIGHT_MM), np.flatnonzero(ways == edge_mm))
    return CarriedLine(spot.skin, *chain.carried_by(along_mm[kept]), ways[kept] <= edge_mm)


def _margin(spot: LipStart, side: float) -> float:
    """Return how far behind the seam the margin lies, mm: where the skin no longer goes on toward the other lip."""
    chain = spot.chain
    ways_mm = np.arange(0.0, HIDDEN_MM + LEVEL_RUN_MM, LEVEL_RUN_MM / 4.0)
    along_mm = spot.along_mm + spot.inward * ways_mm
    along_mm = along_mm % chain.length_mm if chain.closed else np.clip(along_mm, 0.0, chain.length_mm)
    height_mm = side * np.interp(along_mm, chain.along_mm, chain.points_mm[:, 2])
    level = height_mm[4:] - height_mm[:-4] < LEVEL * LEVEL_RUN_MM
    return float(ways_mm[level.argmax()]) if level.any() else HIDDEN_MM


def edges_along(stations: Sequence[Sequence[CarriedLine]], skins: Sequence[MouthSkin]) -> FacingEdges:
    """Return the edges of one lip from the lines of each station."""
    lines = [line for station in stations for line in station]
    starts = np.cumsum([0, *(len(line.parts) for line in lines)])
    pieces, number = [], 0
    for station in stations:
        onward = number + len(station)
        pieces.append(np.arange(starts[number], starts[onward]))
        number = onward
    most = max(1, *map(len, pieces))
    first = np.stack([np.append(own, np.full(most - len(own), own[-1] if len(own) else 0)) for own in pieces])
    goes_on = np.isin(first, starts[1:] - 1, invert=True)
    read = np.array([len(own) > 0 for own in pieces])
    edge = np.concatenate([line.edge for line in lines] or [np.zeros(1, bool)])
    return FacingEdges(_carriers(lines, starts, skins), np.stack([first, first + goes_on], axis=2), edge[first], read)


def _carriers(lines: Sequence[CarriedLine], starts: IntArray, skins: Sequence[MouthSkin]) -> tuple[Carrier, ...]:
    carriers = []
    for number, skin in enumerate(skins):
        own = [at for at, line in enumerate(lines) if line.skin == number]
        if own:
            used, corners = np.unique(np.concatenate([lines[at].vertices for at in own]), return_inverse=True)
            rows = np.concatenate([np.arange(starts[at], starts[at + 1]) for at in own])
            parts = np.concatenate([lines[at].parts for at in own])
            carriers.append(Carrier(skin.part, skin.vertex_ids[used], rows, corners.reshape(-1, 4), parts))
    return tuple(carriers)
