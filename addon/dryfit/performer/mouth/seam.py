"""Where upper and lower lip part, as seen from the front of the closed mouth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...geometry.cuts.flat_cuts import Chain
from ...geometry.rows import row_norms, row_sums
from ...model.arrays import BoolArray, FloatArray, IntArray
from .line import MouthLine
from .mouth_skin import AHEAD_MM, Cut, MouthSkin

SIGHT_MM = 0.1
"""Upright distance of the lines of sight."""
ABOVE_MM = 25.0
"""So far above and below the margins the seam is looked for: a mouth may stand open between marks that lie."""
BEHIND_MM = 8.0
"""Skin this far behind the line between the lips, seen through a gap, is the inside of the mouth."""
FOLD_MM = 4.0
"""Skin that is this much longer from one place in sight to the next than their distance is folded in: a slit of half
this depth."""
PARTED_MM = 0.3
PARTED_SHARE = 0.01
"""The seam is where the jaw takes neighbours apart by more than the first and than this share of the most anywhere."""


@dataclass(frozen=True)
class LipStart:
    """A place on a skin where a lip begins.

    Attributes
    ----------
    skin
        Which of the skins.
    chain
        The chain it lies on.
    along_mm
        How far along it.
    inward
        1 or -1: which way along the chain the skin turns in, out of sight.
    """

    skin: int
    chain: Chain
    along_mm: float
    inward: int

    @property
    def point_mm(self) -> FloatArray:
        """The place, ``(3,)``, head coordinates with the jaw closed."""
        return self.chain.at(np.array([self.along_mm]))[0]


@dataclass(frozen=True)
class Seam:
    """Where upper and lower lip part at one place across the mouth.

    Attributes
    ----------
    place_mm
        The place across the mouth.
    upper, lower
        Where each lip begins.
    parted_mm
        By how much the jaw takes the two apart.
    """

    place_mm: float
    upper: LipStart
    lower: LipStart
    parted_mm: float

    @property
    def up_mm(self) -> float:
        """Its height."""
        return float(0.5 * (self.upper.point_mm[2] + self.lower.point_mm[2]))

    @property
    def folded_mm(self) -> float:
        """How long the skin is that is folded in between the lips; inf where nothing joins them."""
        if self.upper.chain is not self.lower.chain:
            return float("inf")
        chain, apart_mm = self.upper.chain, abs(self.upper.along_mm - self.lower.along_mm)
        return min(apart_mm, chain.length_mm - apart_mm) if chain.closed else apart_mm


@dataclass(frozen=True)
class SkinInSight:
    """What is seen of some skins at one place across the mouth, from above downward, ``(k,)`` each.

    Attributes
    ----------
    skin, face
        What is seen.
    points_mm
        Where, ``(k, 2)``: front and up.
    sunk_mm
        How far it sinks until the jaw is wide open; what is marked as a lip goes with that lip's jaw.
    """

    skin: IntArray
    face: IntArray
    points_mm: FloatArray
    sunk_mm: FloatArray


@dataclass(frozen=True)
class OnChains:
    """The same places on the chains along which the skins are cut there.

    Attributes
    ----------
    skin, chain
        Which chain of which skin, ``(k,)``.
    along_mm
        How far along it, ``(k,)``.
    points_mm, sunk_mm
        As in ``SkinInSight``.
    lines
        For each skin, its chains.
    """

    skin: IntArray
    chain: IntArray
    along_mm: FloatArray
    points_mm: FloatArray
    sunk_mm: FloatArray
    lines: Sequence[Sequence[Chain]]

    def line(self, row: int) -> Chain:
        """Return the chain of one place."""
        return self.lines[self.skin[row]][self.chain[row]]

    @property
    def folded(self) -> BoolArray:
        """Whether the skin between each place and the next is folded in or not joined, ``(k - 1,)``."""
        joined = (self.skin[1:] == self.skin[:-1]) & (self.chain[1:] == self.chain[:-1])
        more_mm = row_norms(np.diff(self.points_mm, axis=0)) + FOLD_MM
        walk_mm = np.abs(np.diff(self.along_mm))
        folded = np.asarray(~joined | (walk_mm > more_mm))
        for row in np.flatnonzero(folded & joined).tolist():
            line = self.line(row)
            folded[row] = not line.closed or line.length_mm - walk_mm[row] > more_mm[row]
        return folded

    def spot(self, row: int, outward: int) -> LipStart:
        """Return one place as where a lip begins, with more of it in sight ``outward`` (-1 above, 1 below) of it."""
        inward, other = 1, row + outward
        while (
            0 <= other < len(self.skin) and self.skin[other] == self.skin[row] and self.chain[other] == self.chain[row]
        ):
            if self.along_mm[other] != self.along_mm[row]:
                inward = 1 if self.along_mm[row] > self.along_mm[other] else -1
                break
            other += outward
        return LipStart(int(self.skin[row]), self.line(row), float(self.along_mm[row]), inward)


def find_seam(skins: Sequence[MouthSkin], line: MouthLine, places_mm: FloatArray) -> list[Seam | None]:
    """Return where the lips part at each place ``(s,)``, ascending; None where skin goes on without a fold.

    Seen from the front, neighbours on either side of the seam are far apart along the skin, or not joined at all, and
    the jaw takes them further apart than any others.
    """
    cuts = [skin.cut_at(places_mm) for skin in skins]
    seen = _seen(skins, line, places_mm)
    found = [
        _parting(_on_chains(sight, cuts, place), at_mm)
        for place, (sight, at_mm) in enumerate(zip(seen, places_mm.tolist(), strict=True))
    ]
    least_mm = max(PARTED_MM, PARTED_SHARE * max((seam.parted_mm for seam in found if seam), default=0.0))
    return [seam if seam is not None and seam.parted_mm >= least_mm else None for seam in found]


def _parting(seen: OnChains, at_mm: float) -> Seam | None:
    """Return where the lips part at one place, or None."""
    parted_mm = np.where(seen.folded, np.diff(seen.sunk_mm), 0.0) if len(seen.skin) > 1 else np.zeros(1)
    best = int(parted_mm.argmax())
    if not parted_mm[best] > 0.0:
        return None
    return Seam(at_mm, seen.spot(best, -1), seen.spot(best + 1, 1), float(parted_mm[best]))


def _seen(skins: Sequence[MouthSkin], line: MouthLine, places_mm: FloatArray) -> list[SkinInSight]:
    """Return what is seen from the front at each place; the inside of the mouth is left out."""
    eyes, deepest_mm = _lines_of_sight(skins, line, places_mm)
    which, face = np.full(eyes.shape[:2], -1), np.full(eyes.shape[:2], -1)
    seen_mm, sunk_mm = np.full(eyes.shape[:2], np.inf), np.zeros(eyes.shape[:2])
    most_mm = max(float(skin.sunk_mm.max()) for skin in skins)
    for number, skin in enumerate(skins):
        distance_mm, struck, sinks_mm = _struck(skin, eyes, most_mm)
        nearer = distance_mm < seen_mm
        which[nearer] = number
        for kept, new in ((seen_mm, distance_mm), (face, struck), (sunk_mm, sinks_mm)):
            kept[nearer] = new[nearer]
    places = np.stack([eyes[..., 1] - seen_mm, eyes[..., 2]], axis=2)
    in_front = np.isfinite(seen_mm) & (places[..., 0] >= deepest_mm[:, None])
    return [
        SkinInSight(which[row, seen], face[row, seen], places[row, seen], sunk_mm[row, seen])
        for row, seen in enumerate(in_front)
    ]


def _lines_of_sight(
    skins: Sequence[MouthSkin], line: MouthLine, places_mm: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return where lines of sight begin, ``(s, h, 3)``, and how far back they go at each place, ``(s,)``."""
    middle = line.beside(places_mm, 0.0)
    upper, lower = line.frame.coordinates(line.margins_mm(0.0))
    reach_mm = ABOVE_MM + 0.5 * abs(float(upper[2] - lower[2]))
    down = np.arange(reach_mm, -reach_mm, -SIGHT_MM)
    eyes = np.repeat(middle[:, None, :], len(down), axis=1)
    eyes[:, :, 2] += down
    eyes[:, :, 1] = max(float(skin.closed_mm[:, 1].max()) for skin in skins) + AHEAD_MM
    return eyes, middle[:, 1] - BEHIND_MM


def _struck(skin: MouthSkin, eyes: FloatArray, most_mm: float) -> tuple[FloatArray, IntArray, FloatArray]:
    """Return how far before each eye ``(s, h, 3)`` a skin is, its triangle there and how far that sinks, ``(s, h)``."""
    if skin.surface is None:
        return np.full(eyes.shape[:2], np.inf), np.full(eyes.shape[:2], -1), np.zeros(eyes.shape[:2])
    flat = eyes.reshape(-1, 3)
    hits = skin.surface.first_hit(flat, np.broadcast_to([0.0, -1.0, 0.0], flat.shape))
    sunk_mm = row_sums(skin.sunk_mm[skin.faces[hits.face]] * hits.barycentric)
    side = skin.side[hits.face]
    sunk_mm = np.where(side > 0, 0.0, np.where(side < 0, most_mm, sunk_mm))
    shape = eyes.shape[:2]
    return hits.distance_mm.reshape(shape), hits.face.reshape(shape), sunk_mm.reshape(shape)


def _on_chains(sight: SkinInSight, cuts: Sequence[Cut], place: int) -> OnChains:
    """Return where on the cut skins the places in sight are; what lies on no chain is left out."""
    chain, along_mm = np.zeros(len(sight.skin), np.int64), np.zeros(len(sight.skin))
    for number, cut in enumerate(cuts):
        own = np.flatnonzero(sight.skin == number)
        chain[own], step = cut.find(place, sight.face[own])
        for line in set(chain[own].tolist()) - {-1}:
            at = chain[own] == line
            start, rows = cut.chains[line], own[at]
            way_mm = row_norms(sight.points_mm[rows] - start.points_mm[step[at], 1:])
            along_mm[rows] = start.along_mm[step[at]] + way_mm
    on = chain >= 0
    lines = [cut.chains for cut in cuts]
    return OnChains(sight.skin[on], chain[on], along_mm[on], sight.points_mm[on], sight.sunk_mm[on], lines)
