"""Where the mouth ends on either side, and the stations between its corners at which the gap is read."""

from __future__ import annotations

import numpy as np

from ...model.arrays import FloatArray
from .line import MouthLine
from .lip_skin import ZONE_SIDE_MM
from .mouth_skin import MouthSkin
from .seam import find_seam

STATIONS = 61
"""Places along the slit at which the gap is read, corners left out."""
CORNER_SHARE = 0.02
"""Share of the mouth's width left out at each corner, where upper and lower lip are one skin."""
GRID_MM, FINE_MM = 0.5, 0.05
"""Distance of the places at which the slit is followed to its corners, and how closely these are then known."""
OFF_EDGES_MM = 1e-4
"""Places stand so far off round figures: on a mirrored head edges run along its middle."""
STEP_MM = 1.5
"""From one such place to the next the slit rises or falls by no more."""


def slit_ends_mm(skin: MouthSkin, line: MouthLine) -> tuple[float, float] | None:
    """Return how far the slit between the lips goes to the right and to the left, mm; None where there is none.

    The corners are where upper and lower lip come together to one skin. Where the slit does not end within reach, the
    corners' landmarks stand in.
    """
    right, left = (float(mark) for mark in line.corners(0.0)[:, 0])
    places_mm = _grid(right - ZONE_SIDE_MM, left + ZONE_SIDE_MM, GRID_MM)
    heights = _heights(skin, line, places_mm)
    if np.isnan(heights).all():
        return None
    middle = int(np.abs(np.where(np.isnan(heights), np.inf, places_mm - 0.5 * (right + left))).argmin())
    first, last = _followed(heights, middle, -1), _followed(heights, middle, 1)
    low = right if first == 0 else -_corner(skin, line, float(places_mm[first]), -1)
    high = left if last == len(places_mm) - 1 else _corner(skin, line, float(places_mm[last]), 1)
    return (low, high) if low < high else None


def _corner(skin: MouthSkin, line: MouthLine, place_mm: float, way: int) -> float:
    """Return the last place toward a corner at which the slit is still found, mm times ``way``."""
    beside_mm = place_mm + way * FINE_MM * np.arange(1, round(GRID_MM / FINE_MM))
    heights = _heights(skin, line, np.sort(beside_mm))[::way]
    found = np.flatnonzero(np.isfinite(heights))
    return way * float(beside_mm[found[-1]] if len(found) else place_mm)


def _grid(low_mm: float, high_mm: float, step_mm: float) -> FloatArray:
    """Return places between two others that lie alike whatever these are, ascending, ``(s,)``, mm."""
    first, last = np.ceil(low_mm / step_mm), np.floor(high_mm / step_mm)
    return np.arange(first, last + 0.5) * step_mm + OFF_EDGES_MM


def _heights(skin: MouthSkin, line: MouthLine, places_mm: FloatArray) -> FloatArray:
    """Return the height of the slit at places ``(s,)``, mm; nan where there is none."""
    seams = find_seam([skin], line, places_mm)
    return np.array([np.nan if seam is None else seam.up_mm for seam in seams])


def _followed(heights: FloatArray, start: int, way: int) -> int:
    """Return the last place to which a slit goes on from one place, a single place left out at a time."""
    at = start
    while 0 <= at + way < len(heights):
        for step in (way, 2 * way):
            onward = at + step
            if 0 <= onward < len(heights) and abs(heights[onward] - heights[at]) <= STEP_MM * abs(step):
                at = onward
                break
        else:
            break
    return at


def stations_between(ends_mm: tuple[float, float]) -> FloatArray:
    """Return the stations ``(s,)`` between two corners, ascending, mm."""
    right, left = ends_mm
    share = np.linspace(CORNER_SHARE, 1.0 - CORNER_SHARE, STATIONS)
    return np.asarray(right + share * (left - right) + OFF_EDGES_MM)
