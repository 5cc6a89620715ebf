"""The gap between the facing edges of the lips, along the mouth, at any t."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ...geometry.cuts.facing_lines import Separation, separation
from ...geometry.rows import row_means
from ...model.arrays import BoolArray, FloatArray
from ...model.snapshot import Part
from ..head_frame import HeadFrame
from ..motion.posed import Posed
from ..motion.poses import Poses
from ..posable import PosableDesign
from .corners import slit_ends_mm, stations_between
from .edges import LOWER, UPPER, CarriedLine, FacingEdges, edge_line, edges_along
from .line import MouthLine
from .lip_skin import LipSkin, Sides, split_lips
from .mouth_skin import MouthSkin, mouth_skin
from .seam import Seam, find_seam

PROFILES_KEPT = 256
"""Poses whose gap is kept: bare lips serve many designs, each stopped elsewhere."""
FACING_SHARE = float(np.sqrt(0.5))
"""Lips face each other where the shortest way between them leads ahead by no more than this share of it: 45 degrees."""


@dataclass(frozen=True)
class GapProfile:
    """The gap along the lips at one pose.

    Attributes
    ----------
    t
        The pose.
    across_mm
        Place of each station from the midline, ``(s,)``, positive to the performer's left.
    gap_mm
        ``(s,)``; the height between the facing edges, and where they overlap in height what really separates them;
        negative where the lips run into each other, nan where there is no lip on one side.
    apart_mm
        The shortest way from lip to lip, ``(s,)``; negative where they run into each other. Lips have met where it
        is nothing, whatever their heights.
    behind_mm
        How far that way leads ahead, ``(s,)``: positive where the lower lip stands behind the upper one.
    at_mm
        Middle of each gap ``(s, 3)``, world space.
    """

    t: float
    across_mm: FloatArray
    gap_mm: FloatArray
    apart_mm: FloatArray
    behind_mm: FloatArray
    at_mm: FloatArray

    @property
    def travel_mm(self) -> FloatArray:
        """What the lips must travel by themselves to meet, ``(s,)``: up and, where they don't face, ahead."""
        return np.maximum(self.apart_mm, 0.0)

    @property
    def facing(self) -> BoolArray:
        """Where the lips stand over each other, ``(s,)``: the way from one to the other leads more up than ahead.

        Elsewhere the gap as a height says less than the way does.
        """
        return np.asarray(np.abs(self.behind_mm) <= FACING_SHARE * self.travel_mm)

    @property
    def longest_mm(self) -> float:
        """The longest of these ways; nan when no gap could be read."""
        return float(np.nanmax(self.travel_mm)) if np.isfinite(self.gap_mm).any() else float("nan")

    @property
    def off_mm(self) -> tuple[float, float]:
        """The longest way where the lips don't face each other, and how much of it at most leads fore or aft, mm."""
        off = ~self.facing & np.isfinite(self.apart_mm)
        if not off.any():
            return 0.0, 0.0
        return float(self.travel_mm[off].max()), float(np.abs(self.behind_mm[off]).max())

    @property
    def largest_mm(self) -> float:
        """The largest gap; nan when none could be read."""
        return float(np.nanmax(self.gap_mm)) if np.isfinite(self.gap_mm).any() else float("nan")

    @property
    def midline(self) -> int:
        """The station nearest to the midline."""
        return int(np.abs(self.across_mm).argmin())

    @property
    def midline_mm(self) -> float:
        """The gap at the midline, mm."""
        return float(self.gap_mm[self.midline])

    @property
    def widest(self) -> int:
        """The station of the largest gap."""
        return int(np.nanargmax(self.gap_mm))


BareLines = dict[float, list[list[CarriedLine]]]
"""For each side the facing edges of every station."""


class Lips:
    """Both lips of some tissue in one motion, and the gap between them at any t.

    Parameters
    ----------
    fitting, poses
        The design and its motion.
    tissue
        The parts that make up the lips: the base alone, or the base and what is worn on it.

    Attributes
    ----------
    known_lines, known_profile, known_sides
        Give what ``find_bare_lines``, ``read_profile`` and ``lip_skin.sides`` find, where somebody keeps it.

    Notes
    -----
    The interlabial gap of the cephalometric literature (Legan & Burstone 1980, J Oral Surg 38:744) is a height
    at the midline with the face upright, from the lower edge of the upper lip to the upper edge of the lower one; here
    it is read at every station from corner to corner. Which skin faces which is found once, on the closed mouth.
    """

    def __init__(self, fitting: PosableDesign, poses: Poses, tissue: tuple[Part, ...]) -> None:
        self.frame = HeadFrame.from_landmarks(fitting.snapshot.landmarks)
        self._fitting, self._tissue = fitting, tissue
        self._stand_on(poses, MouthLine(fitting, poses, self.frame))

    def _stand_on(self, poses: Poses, line: MouthLine) -> None:
        self._poses, self.line = poses, line
        self.known_lines: Callable[[], BareLines] | None = None
        self.known_profile: Callable[[float], GapProfile] | None = None
        self.known_sides: Callable[[Part], Sides] | None = None
        self._like: Lips | None = None
        self._profiles: dict[float, GapProfile] = {}

    def wearing(
        self, tissue: tuple[Part, ...], fitting: PosableDesign | None = None, poses: Poses | None = None
    ) -> Lips:
        """Return the lips of the same head with other tissue on; the slit is not looked for again.

        ``fitting`` and ``poses`` are the design that has the tissue, on the same head in the same motion; None where
        these lips' own has it.
        """
        other = Lips.__new__(Lips)
        other.frame, other._fitting, other._tissue = self.frame, fitting or self._fitting, tissue
        other._stand_on(poses or self._poses, self.line)
        other.__dict__["_slit"] = self._slit
        return other

    def on(self, poses: Poses) -> Lips:
        """Return the same lips in another motion of the jaw; which skin faces which is not looked for again."""
        other = Lips.__new__(Lips)
        other.frame, other._fitting, other._tissue = self.frame, self._fitting, self._tissue
        other._stand_on(poses, MouthLine(self._fitting, poses, self.frame))
        other.edges = self.edges
        other._like = self
        return other

    @property
    def upper(self) -> LipSkin:
        """All skin of the upper lip."""
        return self._skins[0]

    @property
    def lower(self) -> LipSkin:
        """All skin of the lower lip."""
        return self._skins[1]

    @cached_property
    def _skins(self) -> tuple[LipSkin, LipSkin]:
        if self._like is not None:
            return self._like.upper.on(self._poses), self._like.lower.on(self._poses)
        return split_lips(self._fitting, self._poses, self.line, self._tissue, self.known_sides)

    @property
    def found(self) -> bool:
        """Whether a slit between two lips was found."""
        return self.edges is not None

    @cached_property
    def _slit(self) -> tuple[MouthSkin, FloatArray] | None:
        """The base's skin round the mouth and the stations along the slit in it, mm; None where there is no slit."""
        base = mouth_skin(self._poses, self.line, self._fitting.base, self._poses.source.sealed)
        ends_mm = None if base is None else slit_ends_mm(base, self.line)
        return None if base is None or ends_mm is None else (base, stations_between(ends_mm))

    @cached_property
    def worn_skins(self) -> tuple[MouthSkin, ...]:
        """The skin round the mouth of what is worn."""
        worn = [part for part in self._tissue if part.name != self._fitting.base.name]
        return tuple(filter(None, (mouth_skin(self._poses, self.line, part, True) for part in worn)))

    @cached_property
    def edges(self) -> tuple[FacingEdges, FacingEdges] | None:
        """The facing edges of the upper and of the lower lip; None where there is no slit."""
        return None if self._slit is None else self.edges_over(self.worn_skins)

    @cached_property
    def _bare_lines(self) -> BareLines:
        return (self.known_lines or self.find_bare_lines)()

    def find_bare_lines(self) -> BareLines:
        """Return the facing edges of these lips by themselves; ask ``found`` first."""
        assert self._slit is not None
        base, stations_mm = self._slit
        seams = find_seam([base], self.line, stations_mm)
        return {side: [_line(seam, side, worn=False) for seam in seams] for side in (UPPER, LOWER)}

    def edges_over(self, worn: tuple[MouthSkin, ...]) -> tuple[FacingEdges, FacingEdges] | None:
        """Return the facing edges of both lips where some skins are worn over these; None where there is no slit."""
        if self._slit is None:
            return None
        base, stations_mm = self._slit
        skins = [base, *worn]
        seams = find_seam(skins, self.line, stations_mm) if worn else [None] * len(stations_mm)
        upper, lower = (
            [[*bare, *_line(seam, side, worn=True)] for bare, seam in zip(self._bare_lines[side], seams, strict=True)]
            for side in (UPPER, LOWER)
        )
        return edges_along(upper, skins), edges_along(lower, skins)

    @cached_property
    def _carried(self) -> tuple[Posed, Posed]:
        """Where both edges are at any t."""
        if self.edges is None:
            raise ValueError("no slit between the lips was found")
        upper, lower = (edges.carried(self._poses, self.frame) for edges in self.edges)
        return upper, lower

    def profile(self, t: float) -> GapProfile:
        """Return the gap at every station at ``t``; ask ``found`` first.

        Raises
        ------
        ValueError
            When no slit was found.
        """
        profile = self._profiles.get(t)
        if profile is None:
            profile = (self.known_profile or self.read_profile)(t)
            for oldest in [*self._profiles][: len(self._profiles) - PROFILES_KEPT + 1]:
                self._profiles.pop(oldest, None)
            self._profiles[t] = profile
        return profile

    def read_profile(self, t: float) -> GapProfile:
        """Return the gap at every station at ``t``, read anew; ask ``found`` first."""
        upper, lower = (carried(t) for carried in self._carried)
        assert self.edges is not None
        stand = separation(upper[..., 1:], lower[..., 1:], *(lip.edge for lip in self.edges))
        rows, (low, high) = np.arange(len(upper)), stand.edges.T
        across_mm = 0.5 * (upper[rows, low, 0, 0] + lower[rows, high, 0, 0])
        places = np.column_stack([across_mm, row_means(stand.nearest_mm)])
        middle = float(self.line.middle_mm(t) @ self.frame.left)
        read = self.edges[0].read & self.edges[1].read
        gap_mm, apart_mm = (np.where(read, values, np.nan) for values in (stand.gap_mm, stand.apart_mm))
        return GapProfile(t, across_mm - middle, gap_mm, apart_mm, _behind(stand), self.frame.points(places))


def _line(seam: Seam | None, side: float, worn: bool) -> list[CarriedLine]:
    """Return the facing edge of one lip at one station, where it has one; of what is ``worn``, where that is seen."""
    spot = None if seam is None else seam.upper if side == UPPER else seam.lower
    if seam is None or spot is None or (worn and spot.skin == 0):
        return []
    return [edge_line(spot, side, seam.folded_mm)]


def _behind(stand: Separation) -> FloatArray:
    """Return how far the shortest way leads ahead, ``(s,)``, mm; nothing where lines run into each other."""
    return np.where(stand.apart_mm > 0.0, stand.nearest_mm[:, 0, 0] - stand.nearest_mm[:, 1, 0], 0.0)
