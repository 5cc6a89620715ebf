"""The gap between the facing margins of the lips, along the mouth, at any t."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..geometry import Surface
from ..geometry.areas import area_vectors
from ..model.arrays import BoolArray, FloatArray, IntArray
from ..model.snapshot import Part
from .head_frame import HeadFrame
from .lip_skin import DEPTH_BEHIND_MM, split_lips
from .mouth_line import MouthLine

if TYPE_CHECKING:
    from .fitting import Fitting
    from .poses import Poses

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
    """

    t: float
    across_mm: FloatArray
    gap_mm: FloatArray
    facing: BoolArray
    at_mm: FloatArray

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

    def __init__(self, fitting: Fitting, poses: Poses, tissue: tuple[Part, ...]) -> None:
        self.frame = HeadFrame.from_landmarks(fitting.snapshot.landmarks)
        self.line = MouthLine(fitting, poses, self.frame)
        self.upper, self.lower = split_lips(fitting, poses, self.line, tissue)
        self._surfaces: tuple[Surface, ...] = ()

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
        upper, lower = self._posed(t)
        stations = self.line.stations(t)
        rows = self._rows(stations, upper, lower)
        coarse = self._columns(stations, rows, upper, lower)
        best = np.stack([coarse.closest(), coarse.lowest(), coarse.highest()], axis=1)
        fine = (coarse.front[np.arange(len(rows))[:, None], best][:, :, None] + FINE_ROW_MM).reshape(len(rows), -1)
        return self._gaps(t, stations, self._columns(stations, np.concatenate([rows, fine], axis=1), upper, lower))

    def _posed(self, t: float) -> tuple[Surface, ...]:
        skins = (self.upper, self.lower)
        if not self._surfaces:
            self._surfaces = tuple(Surface(skin.vertices(t), skin.faces) for skin in skins)
        return tuple(surface.refit(skin.vertices(t)) for surface, skin in zip(self._surfaces, skins, strict=True))

    def _rows(self, stations: FloatArray, upper: Surface, lower: Surface) -> FloatArray:
        """Return fore-and-aft places of columns at each station, ``(s, c)`` in head coordinates, mm."""
        front = max(self.frame.coordinates(lip.vertices_mm)[:, 1].max() for lip in (upper, lower))
        back = stations[:, 1].min() - 2.0 * DEPTH_BEHIND_MM
        return np.tile(np.arange(back, front + COLUMN_MM, COLUMN_MM), (len(stations), 1))

    def _columns(self, stations: FloatArray, rows: FloatArray, upper: Surface, lower: Surface) -> Columns:
        places = np.repeat(stations[:, None, :], rows.shape[1], axis=1)
        places[:, :, 1] = rows
        under = self._heights(upper, places, self.frame.up)
        over = -self._heights(lower, places, -self.frame.up)
        return Columns(rows, under, over)

    def _heights(self, lip: Surface, places: FloatArray, toward: FloatArray) -> FloatArray:
        """Return how far along ``toward`` the lip's first outer face stands in each column, ``(s, c)``, mm."""
        start_mm = float((lip.vertices_mm @ toward).min()) - 1.0
        flat = self.frame.points(places.reshape(-1, 3))
        flat += np.outer(start_mm - flat @ toward, toward)
        hits = lip.first_hit(flat, np.broadcast_to(toward, flat.shape))
        normals = area_vectors(lip.vertices_mm[lip.faces])
        entering = (hits.face >= 0) & (normals[hits.face] @ toward < 0.0)
        return np.where(entering, start_mm + hits.distance_mm, np.nan).reshape(places.shape[:2])

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
        return GapProfile(t, stations[:, 0] - middle, gap_mm, facing, self.frame.points(place))


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
