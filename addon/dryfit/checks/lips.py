"""The facing margins of the lips: which skin is upper lip, which lower, and how far apart they are at any t."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..geometry import Surface
from ..geometry.areas import area_vectors
from ..model.arrays import BoolArray, FloatArray, IntArray
from ..model.snapshot import Part
from .base_motion import Posed
from .head_frame import HeadFrame

if TYPE_CHECKING:
    from .fitting import Fitting
    from .poses import Poses

STATIONS = 61
"""Places along the lip line at which the gap is read, corners left out."""
CORNER_SHARE = 0.02
"""Share of the mouth's width left out at each corner, where upper and lower lip are one skin."""
COLUMN_MM = 0.3
"""Fore-and-aft distance of the columns in which heights are read."""
FINE_ROW_MM = np.linspace(-COLUMN_MM, COLUMN_MM, 31)
"""Columns added round the closest pair and round either margin, so that sharp margins are read to 0.02 mm."""
DEPTH_BEHIND_MM = 14.0
DEPTH_BEFORE_MM = 60.0
ZONE_HEIGHT_MM = 40.0
ZONE_SIDE_MM = 12.0
"""Skin counts as lip this far behind, before, above or below, and beside the mouth line."""
FACING_MM = 2.0
FACING_SHARE = 0.25
"""Lips face each other where the gap in one column exceeds the height difference of their margins by no more."""
MOUTH_LANDMARKS = ("cheilion_left", "cheilion_right", "stomion_superius", "stomion_inferius")


@dataclass(frozen=True)
class LipSkin:
    """The triangles of one lip, gathered from every tissue part.

    Attributes
    ----------
    parts
        Names of the parts.
    vertex_ids, face_ids
        For each part, its vertices and triangles that are used, ascending.
    faces
        Triangles over the gathered vertices, turned so that normals point out of the tissue.
    posed
        For each part, where its used vertices are at any t.
    """

    parts: tuple[str, ...]
    vertex_ids: tuple[IntArray, ...]
    face_ids: tuple[IntArray, ...]
    faces: IntArray
    posed: tuple[Posed, ...]

    def vertices(self, t: float) -> FloatArray:
        """Return the gathered vertices ``(n, 3)``, mm, at ``t``."""
        return np.concatenate([posed(t) for posed in self.posed])

    def owner(self, face: int) -> str:
        """Return the name of the part a gathered triangle belongs to."""
        ends = np.cumsum([len(ids) for ids in self.face_ids])
        return self.parts[int(np.searchsorted(ends, face, side="right"))]


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
        self._surfaces = tuple(Surface(skin.vertices(0.0), skin.faces) for skin in (self.upper, self.lower))

    def profile(self, t: float) -> GapProfile:
        """Return the gap at every station at ``t``."""
        upper, lower = (
            surface.refit(skin.vertices(t))
            for surface, skin in zip(self._surfaces, (self.upper, self.lower), strict=True)
        )
        stations = self.line.stations(t)
        rows = self._rows(stations, upper, lower)
        coarse = self._columns(stations, rows, upper, lower)
        best = np.stack([coarse.closest(), coarse.lowest(), coarse.highest()], axis=1)
        fine = (coarse.front[np.arange(len(rows))[:, None], best][:, :, None] + FINE_ROW_MM).reshape(len(rows), -1)
        return self._gaps(t, stations, self._columns(stations, np.concatenate([rows, fine], axis=1), upper, lower))

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


class MouthLine:
    """The line between the lips, through the corners and the midline, at any t.

    Parameters
    ----------
    fitting, poses
        The design and its motion.
    frame
        Which way is left, front and up.

    Raises
    ------
    KeyError
        When one of ``MOUTH_LANDMARKS`` is missing; ask ``missing_landmarks`` first.
    """

    def __init__(self, fitting: Fitting, poses: Poses, frame: HeadFrame) -> None:
        marks = fitting.snapshot.landmarks
        self.frame = frame
        self._corners = poses.points(np.stack([marks["cheilion_right"], marks["cheilion_left"]]))
        self._stomia = margin_points(fitting, poses, frame)

    def middle_mm(self, t: float) -> FloatArray:
        """Return the point midway between the lips at the midline, ``(3,)``, mm."""
        return np.asarray(self._stomia(t).mean(axis=0))

    def stations(self, t: float) -> FloatArray:
        """Return the stations ``(s, 3)`` from right to left, in head coordinates (left, front, up), mm.

        A parabola through both corners and the middle of the lips.
        """
        share = np.linspace(CORNER_SHARE, 1.0 - CORNER_SHARE, STATIONS)
        return self.at(share, t)

    def at(self, share: FloatArray, t: float) -> FloatArray:
        """Return points of the line at shares of the mouth's width, 0 at the right corner, in head coordinates."""
        right, left = self.frame.coordinates(self._corners(t))
        middle = self.frame.coordinates(self.middle_mm(t)[None])[0]
        width = left[0] - right[0]
        centre = np.clip((middle[0] - right[0]) / width, 0.2, 0.8)
        bow = (middle - right - (left - right) * centre) / (centre * (1.0 - centre))
        line = right + np.outer(share, left - right) + np.outer(share * (1.0 - share), bow)
        line[:, 0] = right[0] + share * width
        return line

    def beyond(self, points: FloatArray, t: float) -> FloatArray:
        """Return each point's (left beyond the corners, front, up) relative to the line beside it, ``(k, 3)``, mm."""
        right, left = self.frame.coordinates(self._corners(t))[:, 0]
        share = np.clip((points[:, 0] - right) / (left - right), 0.0, 1.0)
        outside = np.maximum(np.maximum(right - points[:, 0], points[:, 0] - left), 0.0)
        relative = points - self.at(share, t)
        relative[:, 0] = outside
        return relative


NEAR_MARGIN_MM = 1.5
"""Vertices this little further from a margin's landmark than the nearest one may be that margin."""


def margin_points(fitting: Fitting, poses: Poses, frame: HeadFrame) -> Posed:
    """Return where the upper and the lower margin at the midline are at any t, ``(2, 3)`` mm.

    Each landmark is tied to a vertex of the base near it and, of those near enough, to the one that goes with its
    own lip: on a scan with sealed lips both landmarks lie on the same spot, and only the motion tells the lips apart.
    """
    rest_mm = fitting.base.vertices_mm
    everything = poses.following(fitting.base.name, np.arange(len(rest_mm)))
    sunk_mm = (everything(0.0) - everything(1.0)) @ frame.up
    marks = [fitting.snapshot.landmarks[name] for name in ("stomion_superius", "stomion_inferius")]
    ends = [_near_with_least(rest_mm, mark, cost) for mark, cost in zip(marks, (sunk_mm, -sunk_mm), strict=True)]
    offset_mm = np.stack(marks) - rest_mm[ends]
    margins = poses.following(fitting.base.name, np.array(ends))
    return lambda t: margins(t) + offset_mm


def _near_with_least(points_mm: FloatArray, mark_mm: FloatArray, cost: FloatArray) -> int:
    far_mm = np.linalg.norm(points_mm - mark_mm, axis=1)
    near = np.flatnonzero(far_mm <= far_mm.min() + NEAR_MARGIN_MM)
    return int(near[cost[near].argmin()])


def missing_landmarks(fitting: Fitting) -> tuple[str, ...]:
    """Return which of the landmarks of the mouth are missing."""
    return tuple(name for name in MOUTH_LANDMARKS if name not in fitting.snapshot.landmarks)


def split_lips(
    fitting: Fitting, poses: Poses, line: MouthLine, tissue: tuple[Part, ...]
) -> tuple[LipSkin, LipSkin]:
    """Return the upper and the lower lip of some tissue.

    Where a part has vertex groups ``dryfit_lip_upper`` and ``dryfit_lip_lower`` they decide; elsewhere triangles
    round the mouth belong to the side of the mouth line on which they lie when the jaw is wide open.
    """
    chosen = [_sides(fitting, poses, line, part) for part in tissue]
    upper, lower = (
        _gathered(fitting, poses, [(part, sides[which]) for part, sides in zip(tissue, chosen, strict=True)])
        for which in (0, 1)
    )
    return upper, lower


def _sides(fitting: Fitting, poses: Poses, line: MouthLine, part: Part) -> tuple[BoolArray, BoolArray]:
    """Return which triangles of a part are upper lip and which lower."""
    groups = [part.areas.get(f"dryfit_lip_{side}") for side in ("upper", "lower")]
    if groups[0] is not None and groups[1] is not None:
        inside = [(weights[part.faces] > 0.5).all(axis=1) for weights in groups if weights is not None]
        return inside[0], inside[1]
    frame = line.frame
    closed = frame.coordinates(poses.vertices(part.name, 0.0)[part.faces].mean(axis=1))
    near = line.beyond(closed, 0.0)
    zone = (near[:, 0] <= ZONE_SIDE_MM) & (near[:, 1] >= -DEPTH_BEHIND_MM) & (near[:, 1] <= DEPTH_BEFORE_MM)
    zone &= np.abs(near[:, 2]) <= ZONE_HEIGHT_MM
    wide = frame.coordinates(poses.vertices(part.name, 1.0)[part.faces].mean(axis=1))
    above = line.beyond(wide, 1.0)[:, 2] >= 0.0
    return zone & above, zone & ~above


def _gathered(fitting: Fitting, poses: Poses, chosen: list[tuple[Part, BoolArray]]) -> LipSkin:
    chosen = [(part, mask) for part, mask in chosen if mask.any()]
    ids, faces, total = [], [np.zeros((0, 3), np.int64)], 0
    for part, mask in chosen:
        turned = np.asarray(fitting.surface(part).oriented_faces, dtype=np.int64)[mask]
        used, compact = np.unique(turned, return_inverse=True)
        ids.append(used)
        faces.append(compact.reshape(-1, 3) + total)
        total += len(used)
    return LipSkin(
        parts=tuple(part.name for part, _ in chosen),
        vertex_ids=tuple(ids),
        face_ids=tuple(np.flatnonzero(mask) for _, mask in chosen),
        faces=np.concatenate(faces),
        posed=tuple(poses.following(part.name, used) for (part, _), used in zip(chosen, ids, strict=True)),
    )
