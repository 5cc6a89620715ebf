"""Is a scan's mouth open, and where do the lips end? Read from the surface itself, looking from the front.

Down the middle of the face the skin falls back sharply at the edge of the upper lip and comes forward sharply at that
of the lower; between the two lies what is behind the lips: the inside of the mouth, teeth, a hole, or nothing.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...geometry import Surface
from ...geometry.similarity import Similarity
from ...model.arrays import FloatArray
from .template import head_template

STEP_MM = 0.25
"""Height from one ray to the next."""
SHARP_MM = 1.5
"""Over one such step skin goes back or forward by less than this; the edge of a lip does more."""
DEEP_MM = 2.0
"""What is seen between the lips lies so far behind the line from the front of one lip to that of the other."""
LIP_MM = 12.0
"""The front of a lip is within this height of its edge."""
COLUMNS_MM = (-2.0, 0.0, 2.0)
"""Where beside the middle the face is looked at; two of the three must show the mouth open."""
NOSE_MM, CHIN_MM = 5.0, 50.0
"""The mouth is looked for from this far under the template's subnasale, clear of the nose's own sharp edge, to this far
under its shut chin."""
CORNER_STEP_MM, CORNERS_WITHIN_MM = 0.5, 45.0
"""The opening is followed to either side in such steps, no further than this."""
BEYOND_MM = 1.3
"""Corners of the mouth lie so far outside the last place where the opening is seen: measured on seven heads."""
START_MM = 300.0
NOTHING_MM = -1000.0


@dataclass(frozen=True)
class MouthAperture:
    """The opening of a mouth as seen from the front, on its middle line.

    Attributes
    ----------
    upper_mm, lower_mm
        The edges of the lips on the scan, ``(3,)``.
    open_mm
        How far they are apart along the head's upright, mm.
    """

    upper_mm: FloatArray
    lower_mm: FloatArray
    open_mm: float


@dataclass(frozen=True)
class Column:
    """What rays from the front meet down one line of the face: heights and how far forward, ``(k,)``, pose's axes."""

    heights: FloatArray
    forward: FloatArray

    def opening(self) -> tuple[int, int] | None:
        """Return the numbers of the last ray on the upper lip and the first on the lower, or None."""
        back = np.diff(self.forward)
        falls, rises = np.flatnonzero(back <= -SHARP_MM), np.flatnonzero(back >= SHARP_MM)
        pairs = [(int(upper), int(lower) + 1) for upper in falls for lower in rises if lower > upper]
        for upper, lower in sorted(pairs, key=lambda pair: pair[0] - pair[1]):
            if self._behind_the_lips(upper, lower):
                return upper, lower
        return None

    def _behind_the_lips(self, upper: int, lower: int) -> bool:
        reach = int(LIP_MM / STEP_MM)
        above = self.forward[max(upper - reach, 0) : upper + 1].max()
        below = self.forward[lower : lower + reach].max()
        level = np.interp(np.arange(upper + 1, lower), [upper, lower], [above, below])
        return bool((self.forward[upper + 1 : lower] <= level - DEEP_MM).all())


def mouth_aperture(scan: Surface, pose: Similarity, middle_mm: float = 0.0) -> MouthAperture | None:
    """Return the opening of the mouth, or None where the lips meet or no opening is seen.

    Parameters
    ----------
    scan
        The head or face.
    pose
        Where the template's axes (left, back, up) lie on it.
    middle_mm
        Where the middle of the mouth is, along left.
    """
    found = list(_openings(scan, pose, middle_mm))
    if len(found) < 2:
        return None
    upper, lower = np.mean([each[0] for each in found], axis=0), np.mean([each[1] for each in found], axis=0)
    upper[0] = lower[0] = middle_mm
    return MouthAperture(pose.apply(upper), pose.apply(lower), float(upper[2] - lower[2]) * pose.scale)


def mouth_corners(scan: Surface, pose: Similarity, middle_mm: float = 0.0) -> tuple[FloatArray, FloatArray] | None:
    """Return the left and the right corner ``(3,)`` of an open mouth, where its opening ends; None where none is seen.

    Parameters
    ----------
    scan, pose, middle_mm
        As for ``mouth_aperture``.
    """
    ends = [_corner(scan, pose, middle_mm, side) for side in (1.0, -1.0)]
    left, right = ends
    return None if left is None or right is None else (pose.apply(left), pose.apply(right))


def _corner(scan: Surface, pose: Similarity, middle_mm: float, side: float) -> FloatArray | None:
    found = None
    for aside_mm in np.arange(0.0, CORNERS_WITHIN_MM, CORNER_STEP_MM):
        at = middle_mm + side * aside_mm
        column = _column(scan, pose, at)
        seen = column.opening()
        if seen is None:
            break
        back, height = -column.forward[list(seen)].mean(), column.heights[list(seen)].mean()
        found = np.array([at + side * BEYOND_MM, back, height])
    return found


def _openings(scan: Surface, pose: Similarity, middle_mm: float) -> Iterator[tuple[FloatArray, FloatArray]]:
    for aside_mm in COLUMNS_MM:
        column = _column(scan, pose, middle_mm + aside_mm)
        seen = column.opening()
        if seen:
            upper, lower = (np.array([middle_mm + aside_mm, -column.forward[at], column.heights[at]]) for at in seen)
            yield upper, lower


def _column(scan: Surface, pose: Similarity, at_mm: float) -> Column:
    """Return what rays from the front meet so far to the left of the middle, below the nose."""
    template = head_template()
    highest, lowest = template.point_mm("subnasale")[2] - NOSE_MM, template.point_mm("gnathion")[2] - CHIN_MM
    heights = np.arange(highest, lowest, -STEP_MM)
    starts = np.column_stack([np.full_like(heights, at_mm), np.full_like(heights, -START_MM), heights])
    ways = np.tile(pose.turn([0.0, 1.0, 0.0]), (len(heights), 1))
    away_mm = scan.first_hit(pose.apply(starts), ways).distance_mm
    return Column(heights, np.where(np.isfinite(away_mm), START_MM - away_mm / pose.scale, NOTHING_MM))
