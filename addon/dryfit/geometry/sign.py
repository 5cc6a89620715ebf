"""Which side of a surface is a point on?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .checked_arrays import Flags, Floats
from .engine import Nearest
from .topology import connected

if TYPE_CHECKING:
    from .surface import Surface

SLANT = 0.1
"""Sine of the angle past an open border at which a point is off the scan: about six degrees, enough for a point set
along an averaged normal."""
TOUCH = 1e-6
"""The same as a length, over the surface's size: single-precision coordinates are no better."""
ENCLOSED = 0.75
"""On an open scan, a winding number above this is inside whatever the nearest wall says."""

_BEYOND, _UNDECIDED = 2, 3


def signs(surface: Surface, points: Floats, near: Nearest) -> Floats:
    """Return 1 outside, -1 inside, 0 on the surface, nan off the scan, (k,)."""
    side = _sides(surface, points, near)
    if _contradicts_itself(surface):
        return _by_winding(surface, points, side)
    if surface.crosses_itself:
        doubtful = np.flatnonzero(_near_crossings(surface, points))
        side[doubtful] = _by_winding(surface, points[doubtful], side[doubtful])
    unsure = np.flatnonzero(side == _UNDECIDED)
    side[unsure] = np.where(surface.winding_number(points[unsure]) > 0.5, -1, 1)
    side[side == _BEYOND] = np.nan
    return side


def signs_by_nearest(surface: Surface, points: Floats, near: Nearest) -> Floats:
    """Return the same from the nearest face, edge or vertex alone; nan too where that cannot tell, (k,)."""
    side = _sides(surface, points, near)
    return np.where((side == _BEYOND) | (side == _UNDECIDED), np.nan, side)


def _sides(surface: Surface, points: Floats, near: Nearest) -> Floats:
    skin = surface.repaired.skin
    size = float(np.linalg.norm(np.ptp(skin.vertices, axis=0)))
    return surface.engine.sides(skin, points, near, SLANT, TOUCH * size).astype(np.float64)


def _contradicts_itself(surface: Surface) -> bool:
    repaired = surface.repaired
    return repaired.seam or repaired.joints.tangled or repaired.piece_count > 1


def _near_crossings(surface: Surface, points: Floats) -> Flags:
    """Mark the points that a self-crossing could mislead, (k,).

    Where one sheet dips through another, the space between them is no wider than the line where they cross is
    long: boxes round the crossing faces, wider by their own diagonal on every side, hold it all.
    """
    faces = surface.crossing_faces
    corners = surface.faces[faces]
    cluster = connected(len(surface.vertices_mm), np.concatenate([corners[:, :2], corners[:, 1:]]))[corners[:, 0]]
    marked = np.zeros(len(points), dtype=bool)
    for number in np.unique(cluster):
        held = surface.vertices_mm[corners[cluster == number]].reshape(-1, 3)
        low, high = held.min(axis=0), held.max(axis=0)
        reach = np.linalg.norm(high - low)
        marked |= ((points >= low - reach) & (points <= high + reach)).all(axis=1)
    return marked


def _by_winding(surface: Surface, points: Floats, side: Floats) -> Floats:
    """Second opinion: decisive on a closed surface; on an open one only where it is surely inside."""
    winding = surface.winding_number(points)
    if surface.closed:
        return np.where(side == 0, 0.0, np.where(winding > 0.5, -1.0, 1.0))
    side = np.where(side == _BEYOND, np.nan, side)
    undecided = side == _UNDECIDED
    side[undecided] = np.where(winding[undecided] > 0.5, -1, 1)
    return np.where((winding > ENCLOSED) & (side != 0), -1.0, side)
