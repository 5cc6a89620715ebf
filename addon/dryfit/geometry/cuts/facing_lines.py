"""How two lines in one upright plane stand to each other: an upper one above a lower one, in front of it or behind.

Lines are given for many planes at once, as straight pieces ``(s, q, 2, 2)``: plane, piece, end, (front, up). Each
corner of a line starts one piece; from its last corner that has no length, and such pieces also fill up.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...model.arrays import BoolArray, FloatArray, IntArray
from ..rows import row_highs, row_lows

JOIN = 2.0
"""Lines whose height difference is this many times the depth between them are as far apart as that difference."""
DEPTH_MM = 2.0
"""Depth beyond this does not count in the gap: that one line stands far behind the other is said by the way."""


@dataclass(frozen=True)
class Separation:
    """How an upper and a lower line stand to each other in each plane, ``(s,)`` or ``(s, 2)``, mm.

    Attributes
    ----------
    height_mm
        Lowest edge of the upper line over the highest of the lower one; negative where one hides behind the other.
    apart_mm
        The shortest way between the two; where they run into each other minus what either must give way upright or
        in depth, whichever is less.
    nearest_mm
        The ends of the shortest way on the upper and on the lower line, ``(s, 2, 2)``: line, (front, up).
    edges
        Which corner of the upper line is its lowest edge, and which of the lower line its highest, ``(s, 2)``.
    """

    height_mm: FloatArray
    apart_mm: FloatArray
    nearest_mm: FloatArray
    edges: IntArray

    @property
    def gap_mm(self) -> FloatArray:
        """The gap between the lines, ``(s,)``; see ``joined_gap_mm``."""
        return joined_gap_mm(self.height_mm, self.apart_mm)


def joined_gap_mm(height_mm: FloatArray, apart_mm: FloatArray) -> FloatArray:
    """Return one gap for lines from touching to far apart, ``(s,)``, mm.

    Apart, it is the difference of their heights. Where they overlap in height it is what really separates them, up to
    ``DEPTH_MM``. In between, the depth z of the shortest way, no more than that, counts less and less: with
    u = height / z the gap is ``z * sqrt(u**2 + (1 - (u / JOIN)**2)**4)``, which grows with both height and z, has no
    step, and is the height from ``JOIN * DEPTH_MM`` on.

    Parameters
    ----------
    height_mm, apart_mm
        As in ``Separation``. Where lines are nearer to each other than their edges, that is their gap.
    """
    height = np.clip(height_mm, 0.0, np.maximum(apart_mm, 0.0))
    depth = np.minimum(np.sqrt(np.maximum(apart_mm**2 - height**2, 0.0)), DEPTH_MM)
    share = np.minimum(height / np.where(depth > 0.0, depth, 1.0) / JOIN, 1.0)
    joined = np.where(depth > 0.0, np.hypot(height, depth * (1.0 - share**2) ** 2), height)
    return np.asarray(np.where(apart_mm > 0.0, joined, np.minimum(apart_mm, 0.0)))


def separation(
    upper: FloatArray, lower: FloatArray, upper_edge: BoolArray | None = None, lower_edge: BoolArray | None = None
) -> Separation:
    """Return how upper lines stand to lower ones.

    Parameters
    ----------
    upper, lower
        The lines, ``(s, q, 2, 2)`` and ``(s, r, 2, 2)``.
    upper_edge, lower_edge
        Which corners, by the pieces that they start, are edges whose heights count, ``(s, q)`` and ``(s, r)``; None for
        all.
    """
    low, high = upper[..., 0, 1], lower[..., 0, 1]
    apart_mm, nearest_mm = _nearest(upper, lower)
    overlapping = np.flatnonzero(row_lows(low) < row_highs(high))
    run_in_mm = _run_in(upper[overlapping], lower[overlapping])
    apart_mm[overlapping] = np.where(run_in_mm > 0.0, -run_in_mm, apart_mm[overlapping])
    low = low if upper_edge is None else np.where(upper_edge, low, np.inf)
    high = high if lower_edge is None else np.where(lower_edge, high, -np.inf)
    edges = np.stack([low.argmin(axis=1), high.argmax(axis=1)], axis=1)
    return Separation(row_lows(low) - row_highs(high), apart_mm, nearest_mm, edges)


def _nearest(upper: FloatArray, lower: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the shortest way between lines that don't cross ``(s,)``, and its ends ``(s, 2, 2)``.

    One of its ends is a corner of a line.
    """
    down, up = (_from_corners(one, other) for one, other in ((upper, lower), (lower, upper)))
    shorter = (down[0] <= up[0])[:, None]
    ends = np.stack([np.where(shorter, down[1], up[2]), np.where(shorter, down[2], up[1])], axis=1)
    return np.minimum(down[0], up[0]), ends


def _from_corners(corners: FloatArray, pieces: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the shortest way from any corner of lines to others ``(s,)``, the corner and its foot ``(s, 2)`` each."""
    x, y = np.moveaxis(corners[:, :, None, 0], 3, 0)
    (x0, y0), (x1, y1) = np.moveaxis(pieces[:, None], (3, 4), (0, 1))
    dx, dy = x1 - x0, y1 - y0
    length2 = dx * dx + dy * dy
    share = ((x - x0) * dx + (y - y0) * dy) / np.where(length2 > 0.0, length2, 1.0)
    np.clip(share, 0.0, 1.0, out=share)
    far2 = (x0 + share * dx - x) ** 2 + (y0 + share * dy - y) ** 2
    rows, flat = np.arange(len(corners)), far2.reshape(len(corners), -1)
    best = flat.argmin(axis=1)
    corner, piece = np.divmod(best, pieces.shape[1])
    start, end = pieces[rows, piece, 0], pieces[rows, piece, 1]
    feet = start + share[rows, corner, piece][:, None] * (end - start)
    return np.sqrt(flat[rows, best]), corners[rows, corner, 0], feet


def _run_in(upper: FloatArray, lower: FloatArray) -> FloatArray:
    """Return what lines that run into each other must give way, ``(s,)``, mm; zero or less where they don't.

    Upright, backward or forward, whichever is least. Between the corners of both lines all three change evenly.
    """
    if not len(upper):
        return np.zeros(0)
    upright = _overlap(upper, lower, 0)
    depths = [_overlap(lower, upper, 1), _overlap(upper, lower, 1)]
    return np.asarray(np.where(upright > 0.0, np.minimum(upright, np.minimum(*depths)), upright))


def _overlap(above: FloatArray, below: FloatArray, axis: int) -> FloatArray:
    """Return how far ``below`` reaches past ``above`` at most where both have the same place on an axis, ``(s,)``.

    Along axis 0 (front) heights are compared, along axis 1 (up) depths; -inf where they share no place.
    """
    places = np.concatenate([lines[:, :, 0, axis] for lines in (above, below)], axis=1)
    least, most = _reach(above, places, axis, np.inf), _reach(below, places, axis, -np.inf)
    return np.asarray(row_highs(most - least))


def _reach(lines: FloatArray, places: FloatArray, axis: int, none: float) -> FloatArray:
    """Return how low, or with ``none`` = -inf how high, lines reach at places ``(s, k)``; ``none`` where they don't."""
    start, end = lines[:, None, :, 0], lines[:, None, :, 1]
    at = places[:, :, None]
    run = end[..., axis] - start[..., axis]
    inside: BoolArray = (at - start[..., axis]) * (at - end[..., axis]) <= 0.0
    share = np.clip((at - start[..., axis]) / np.where(run == 0.0, 1.0, run), 0.0, 1.0)
    other = start[..., 1 - axis] + share * (end - start)[..., 1 - axis]
    ends = [np.where(run == 0.0, point[..., 1 - axis], other) for point in (start, end)]
    return np.asarray(
        np.where(inside, np.minimum(*ends), none).min(axis=2)
        if none > 0.0
        else np.where(inside, np.maximum(*ends), none).max(axis=2)
    )
