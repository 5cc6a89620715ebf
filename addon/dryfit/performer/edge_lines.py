"""Lines of the face that move or open, near which no edge holds: lid margins, vermilion, nostril rims and folds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..geometry import Surface
from ..geometry.rows import row_lows, row_norms
from ..geometry.topology import border_edges
from ..model.arrays import FloatArray
from .eyes import SIDES, Eye, find_eye
from .fitting import Fitting
from .head_frame import HeadFrame
from .lids import COLUMN_MM, HALF_HEIGHT_MM, rays_from_the_front
from .mobile_zones import mobile_zones
from .nostrils import find_nostril, wanted_landmarks

STEP_MM = 0.5
ROW_MM = 0.1
"""Rows of the lids' own grid are half of it; an edge is not measured from a lid as closely as a lid from a lid."""
LID, VERMILION, NOSTRIL, FOLD = "lid", "vermilion", "nostril", "fold"


@dataclass(frozen=True)
class EdgeLine:
    """One such line.

    Attributes
    ----------
    kind
        ``lid``, ``vermilion``, ``nostril`` or ``fold``.
    name
        Words for it, for instance "margin of the left lids".
    points_mm
        Points along it, ``(k, 3)``, half a millimetre apart or closer.
    doubt_mm
        How much nearer than the points the line itself may be.
    """

    kind: str
    name: str
    points_mm: FloatArray
    doubt_mm: float = 0.0

    def distance_mm(self, points_mm: FloatArray) -> FloatArray:
        """Return how far points ``(k, 3)`` are from the line at least, mm, straight through the air."""
        away_mm = np.full(len(points_mm), np.inf)
        for chunk in np.array_split(self.points_mm, max(1, len(self.points_mm) // 64)):
            apart = row_norms(points_mm[:, None] - chunk[None])
            np.minimum(away_mm, row_lows(apart), out=away_mm)
        return np.maximum(away_mm - self.doubt_mm, 0.0)


@dataclass(frozen=True)
class MissingLine:
    """A line that could not be drawn, and the landmarks it lacks; none where the base has no such place."""

    kind: str
    name: str
    landmarks: tuple[str, ...]


def edge_lines(fitting: Fitting) -> tuple[tuple[EdgeLine, ...], tuple[MissingLine, ...]]:
    """Return the lines that this head's landmarks allow, and those they do not."""
    found = [*_lids(fitting), *_vermilion(fitting), *_nostrils(fitting)]
    zones, _ = mobile_zones(fitting.snapshot.landmarks, fitting.brief.limits, fitting.base_surface)
    folds = [
        EdgeLine(FOLD, zone.name, _on_base(zone.chain_mm, fitting.base_surface))
        for zone in zones
        if zone.kind == "fold"
    ]
    drawn = tuple(each for each in found if isinstance(each, EdgeLine))
    return (*drawn, *folds), tuple(each for each in found if isinstance(each, MissingLine))


def _on_base(chain_mm: FloatArray, base: Surface) -> FloatArray:
    """Return points along a chain of straight pieces ``(c, 3)``, each at the place of the base nearest to it."""
    pieces = []
    for start, end in pairwise(chain_mm):
        count = max(2, int(np.ceil(np.linalg.norm(end - start) / STEP_MM)) + 1)
        pieces.append(start + np.linspace(0.0, 1.0, count)[:, None] * (end - start))
    return np.asarray(base.closest(np.concatenate(pieces)).point)


def _lacking(fitting: Fitting, names: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(name for name in names if name not in fitting.snapshot.landmarks)


def _vermilion(fitting: Fitting) -> Iterator[EdgeLine | MissingLine]:
    for which, middle in (("upper", "labiale_superius"), ("lower", "labiale_inferius")):
        names, words = ("cheilion_left", middle, "cheilion_right"), f"vermilion of the {which} lip"
        lacking = _lacking(fitting, names)
        if lacking:
            yield MissingLine(VERMILION, words, lacking)
        else:
            chain = np.stack([fitting.snapshot.landmarks[name] for name in names])
            yield EdgeLine(VERMILION, words, _on_base(chain, fitting.base_surface))


def _nostrils(fitting: Fitting) -> Iterator[EdgeLine | MissingLine]:
    for side in SIDES:
        nostril, words = find_nostril(fitting, side), f"rim of the {side} nostril"
        if nostril is None:
            yield MissingLine(NOSTRIL, words, _lacking(fitting, wanted_landmarks(side)))
            continue
        ends = fitting.base_surface.vertices_mm[border_edges(fitting.base_surface.faces[nostril.faces])]
        shares = np.linspace(0.0, 1.0, 5)[:, None, None]
        yield EdgeLine(NOSTRIL, words, (ends[:, 0] + shares * (ends[:, 1] - ends[:, 0])).reshape(-1, 3))


def _lids(fitting: Fitting) -> Iterator[EdgeLine | MissingLine]:
    frame = HeadFrame.from_landmarks(fitting.snapshot.landmarks)
    for side in SIDES:
        words, corners = f"margin of the {side} lids", (f"endocanthion_{side}", f"exocanthion_{side}")
        lacking = _lacking(fitting, corners)
        if lacking:
            yield MissingLine(LID, words, lacking)
            continue
        chain = np.stack([fitting.snapshot.landmarks[name] for name in corners])
        margin = _margin(fitting, find_eye(fitting, side, frame), chain, frame)
        if len(margin):
            yield EdgeLine(LID, words, np.concatenate([margin, chain]))
        else:
            reach_mm = fitting.brief.limits.lid_zone_mm
            yield EdgeLine(LID, words, _on_base(chain, fitting.base_surface), reach_mm)


def _margin(fitting: Fitting, eye: Eye | None, corners_mm: FloatArray, frame: HeadFrame) -> FloatArray:
    """Return where the lids end before the eyeball, seen from the front ``(k, 3)``; none where no eyeball is seen."""
    if eye is None or eye.part is None:
        return np.zeros((0, 3))
    ends = np.sort(frame.coordinates(corners_mm)[:, 0])
    _, _, up = frame.coordinates(eye.apex_mm[None])[0]
    columns = np.arange(ends[0], ends[1] + 1e-9, COLUMN_MM)
    rows = np.arange(up - HALF_HEIGHT_MM, up + HALF_HEIGHT_MM, ROW_MM)
    start, along = rays_from_the_front(eye, frame, columns, rows)
    skin_mm = fitting.base_surface.first_hit(start, along).distance_mm
    seen = (fitting.surface(eye.part).first_hit(start, along).distance_mm < skin_mm).reshape(len(columns), len(rows))
    begins = seen[:, 1:] != seen[:, :-1]
    column, row = np.nonzero(begins)
    lid_row = np.where(seen[column, row], row + 1, row)
    cell = column * len(rows) + lid_row
    reached = np.isfinite(skin_mm[cell])
    margin: FloatArray = start[cell[reached]] - skin_mm[cell[reached], None] * frame.front
    return margin
