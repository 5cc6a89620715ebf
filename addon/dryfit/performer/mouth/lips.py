"""The gap between the facing margins of the lips, along the mouth, at any t."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...geometry import Surface
from ...geometry.areas import area_vectors
from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.snapshot import Part
from ..head_frame import HeadFrame
from ..motion.poses import Poses
from ..posable import PosableDesign
from .line import MouthLine
from .lip_skin import DEPTH_BEHIND_MM, LipSkin, split_lips

LipSurfaces = tuple[tuple[Surface, ...], tuple[Surface, ...]]
"""The pieces of the upper and of the lower lip at one pose."""

COLUMN_MM = 0.3
"""Fore-and-aft distance of the columns in which heights are read."""
FINE_ROW_MM = np.linspace(-COLUMN_MM, COLUMN_MM, 31)
"""Columns added round the closest pair and round either margin, so that sharp margins are read to 0.02 mm."""
FACING_MM = 2.0
FACING_SHARE = 0.25
"""Lips face each other where the gap in one column exceeds the height difference of their margins by no more."""


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
        ``(s,)``; negative where the lips overlap, nan where there is no lip on one side.
    facing
        ``(s,)``; False where the lips do not stand over each other and the height difference of their margins
        stands in.
    at_mm
        Middle of each gap ``(s, 3)``, world space.
    behind_mm
        How far the lower margin stands behind the upper one, ``(s,)``; 0 where the lips face each other.
    """

    t: float
    across_mm: FloatArray
    gap_mm: FloatArray
    facing: BoolArray
    at_mm: FloatArray
    behind_mm: FloatArray

    @property
    def travel_mm(self) -> FloatArray:
        """What the lips must travel by themselves to meet, ``(s,)``: up the gap and, where they do not face, ahead."""
        return np.asarray(np.hypot(np.maximum(self.gap_mm, 0.0), self.behind_mm))

    @property
    def longest_mm(self) -> float:
        """The longest of these ways; nan when no gap could be read."""
        return float(np.nanmax(self.travel_mm)) if np.isfinite(self.gap_mm).any() else float("nan")

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


class Lips:
    """Both lips of some tissue in one motion, and the gap between them at any t.

    Parameters
    ----------
    fitting, poses
        The design and its motion.
    tissue
        The parts that make up the lips: the base alone, or the base and what is worn on it.

    Notes
    -----
    The interlabial gap of the cephalometric literature (Legan & Burstone 1980, J Oral Surg 38:744) is a height
    at the midline with the face upright; here it is read at every station, in columns along the head's own upright.
    """

    def __init__(self, fitting: PosableDesign, poses: Poses, tissue: tuple[Part, ...]) -> None:
        self.frame = HeadFrame.from_landmarks(fitting.snapshot.landmarks)
        self.line = MouthLine(fitting, poses, self.frame)
        self.upper, self.lower = split_lips(fitting, poses, self.line, tissue)
        self._surfaces: tuple[tuple[tuple[LipSkin, Surface], ...], ...] = ()
        self._profiles: dict[float, GapProfile] = {}

    @property
    def found(self) -> bool:
        """Whether there is skin on either side of the mouth line."""
        return bool(len(self.upper.faces) and len(self.lower.faces))

    def profile(self, t: float) -> GapProfile:
        """Return the gap at every station at ``t``; ask ``found`` first.

        Raises
        ------
        NoSurface
            When there is no skin on one side of the mouth line.
        """
        if t not in self._profiles:
            self._profiles[t] = self._read(t)
        return self._profiles[t]

    def _read(self, t: float) -> GapProfile:
        lips = self._posed(t)
        stations = self.line.stations(t)
        coarse = self._columns(stations, self._rows(stations, lips), lips)
        best = np.stack([coarse.closest(), coarse.lowest(), coarse.highest()], axis=1)
        about = np.take_along_axis(coarse.front, best, axis=1)[:, :, None] + FINE_ROW_MM
        fine = self._columns(stations, about.reshape(len(stations), -1), lips)
        return self._gaps(t, stations, coarse.beside(fine))

    def _posed(self, t: float) -> LipSurfaces:
        """Return the surfaces of the upper and of the lower lip at ``t``, one for each part it is made of."""
        if not self._surfaces:
            self._surfaces = tuple(
                tuple((piece, Surface(piece.vertices(t), piece.faces)) for piece in skin.pieces)
                for skin in (self.upper, self.lower)
            )
        upper, lower = (
            tuple(surface.refit(piece.vertices(t)) for piece, surface in pieces) for pieces in self._surfaces
        )
        return upper, lower

    def _rows(self, stations: FloatArray, lips: LipSurfaces) -> FloatArray:
        """Return fore-and-aft places of columns at each station, ``(s, c)`` in head coordinates, mm."""
        front = max(float((piece.vertices_mm @ self.frame.front).max()) for lip in lips for piece in lip)
        back = stations[:, 1].min() - 2.0 * DEPTH_BEHIND_MM
        return np.tile(np.arange(back, front + COLUMN_MM, COLUMN_MM), (len(stations), 1))

    def _columns(self, stations: FloatArray, rows: FloatArray, lips: LipSurfaces) -> Columns:
        places = np.repeat(stations[:, None, :], rows.shape[1], axis=1)
        places[:, :, 1] = rows
        upper, lower = lips
        under = np.fmin.reduce([self._heights(piece, places, self.frame.up) for piece in upper])
        over = np.fmax.reduce([-self._heights(piece, places, -self.frame.up) for piece in lower])
        return Columns(rows, under, over)

    def _heights(self, piece: Surface, places: FloatArray, toward: FloatArray) -> FloatArray:
        """Return how far along ``toward`` a piece's first face stands in each column, ``(s, c)``, mm.

        Only faces that look the other way, against ``toward``, are margins; behind any other there is none.
        """
        start_mm = float((piece.vertices_mm @ toward).min()) - 1.0
        flat = self.frame.points(places.reshape(-1, 3))
        flat += np.outer(start_mm - flat @ toward, toward)
        hits = piece.first_hit(flat, np.broadcast_to(toward, flat.shape))
        struck = np.flatnonzero(hits.face >= 0)
        facing = area_vectors(piece.vertices_mm[piece.faces[hits.face[struck]]]) @ toward
        entering = struck[facing < 0.0]
        heights = np.full(len(flat), np.nan)
        heights[entering] = start_mm + hits.distance_mm[entering]
        return heights.reshape(places.shape[:2])

    def _gaps(self, t: float, stations: FloatArray, columns: Columns) -> GapProfile:
        rows = np.arange(len(stations))
        column, low, high = columns.closest(), columns.lowest(), columns.highest()
        in_column = columns.under[rows, column] - columns.over[rows, column]
        margins = columns.under[rows, low] - columns.over[rows, high]
        facing = in_column - margins <= FACING_MM + FACING_SHARE * np.abs(margins)
        above, below = np.where(facing, column, low), np.where(facing, column, high)
        place = np.stack(
            [
                stations[:, 0],
                0.5 * (columns.front[rows, above] + columns.front[rows, below]),
                0.5 * (columns.under[rows, above] + columns.over[rows, below]),
            ],
            axis=1,
        )
        middle = float(self.line.middle_mm(t) @ self.frame.left)
        gap_mm = columns.under[rows, above] - columns.over[rows, below]
        behind_mm = columns.front[rows, above] - columns.front[rows, below]
        return GapProfile(t, stations[:, 0] - middle, gap_mm, facing, self.frame.points(place), behind_mm)


@dataclass(frozen=True)
class Columns:
    """Heights of the facing margins in upright columns, several at each station, mm.

    Attributes
    ----------
    front
        Fore-and-aft place, ``(s, c)``.
    under, over
        Height of the upper lip's underside and of the lower lip's top, ``(s, c)``; nan where there is none.
    """

    front: FloatArray
    under: FloatArray
    over: FloatArray

    def beside(self, more: Columns) -> Columns:
        """Return these columns and more of them at the same stations."""
        return Columns(
            np.concatenate([self.front, more.front], axis=1),
            np.concatenate([self.under, more.under], axis=1),
            np.concatenate([self.over, more.over], axis=1),
        )

    def closest(self) -> IntArray:
        """Return the column with the smallest gap at each station, ``(s,)``."""
        return _nan_argmin(self.under - self.over)

    def lowest(self) -> IntArray:
        """Return the column where the upper lip reaches lowest, ``(s,)``."""
        return _nan_argmin(self.under)

    def highest(self) -> IntArray:
        """Return the column where the lower lip reaches highest, ``(s,)``."""
        return _nan_argmin(-self.over)


def _nan_argmin(values: FloatArray) -> IntArray:
    return np.asarray(np.where(np.isnan(values), np.inf, values).argmin(axis=1))
