"""Which side of a surface is a point on?"""

from __future__ import annotations

from typing import Protocol

import numpy as np
import numpy.typing as npt

from .checked_arrays import Flags, Floats, Ints
from .engine import Nearest
from .repair import Repair
from .rows import extents, highs, lows, row_all
from .topology import connected

SLANT = 0.1
"""Sine of the angle past an open border at which a point is off the scan: about six degrees, enough for a point set
along an averaged normal."""
TOUCH = 1e-6
"""The same as a length, over the surface's size: single-precision coordinates are no better."""
ENCLOSED = 0.75
"""On an open scan, a winding number above this is inside whatever the nearest wall says."""

_BEYOND, _UNDECIDED = 2, 3


class Sided(Protocol):
    """What the side of a point is asked of: a surface that tells how its mesh is read."""

    @property
    def vertices_mm(self) -> Floats:
        """Vertices, (n, 3)."""

    @property
    def faces(self) -> Ints:
        """Faces as given, (m, 3)."""

    @property
    def repaired(self) -> Repair:
        """How the mesh is read: welded, turned one way, outside out."""

    @property
    def crosses_itself(self) -> bool:
        """Whether faces that share no corner cross."""

    @property
    def crossing_faces(self) -> Ints:
        """Faces that cross another face of the same surface, (c,)."""

    def winding_number(self, points_mm: npt.ArrayLike) -> Floats:
        """Return the generalized winding number, (k,)."""


def signs(surface: Sided, points: Floats, near: Nearest) -> Floats:
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


def signs_by_nearest(surface: Sided, points: Floats, near: Nearest) -> Floats:
    """Return the same from the nearest face, edge or vertex alone; nan too where that cannot tell, (k,)."""
    side = _sides(surface, points, near)
    return np.where((side == _BEYOND) | (side == _UNDECIDED), np.nan, side)


def _sides(surface: Sided, points: Floats, near: Nearest) -> Floats:
    skin, engine = surface.repaired.skin, surface.repaired.engine
    size = float(np.linalg.norm(extents(skin.vertices)))
    return engine.sides(skin, points, near, SLANT, TOUCH * size).astype(np.float64)


def _contradicts_itself(surface: Sided) -> bool:
    repaired = surface.repaired
    return repaired.seam or repaired.joints.tangled or repaired.piece_count > 1


def _near_crossings(surface: Sided, points: Floats) -> Flags:
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
        low, high = lows(held), highs(held)
        reach = np.linalg.norm(high - low)
        marked |= row_all((points >= low - reach) & (points <= high + reach))
    return marked


def _by_winding(surface: Sided, points: Floats, side: Floats) -> Floats:
    """Second opinion: decisive on a closed surface; on an open one only where it is surely inside."""
    winding = surface.winding_number(points)
    if surface.repaired.joints.closed:
        return np.where(side == 0, 0.0, np.where(winding > 0.5, -1.0, 1.0))
    side = np.where(side == _BEYOND, np.nan, side)
    undecided = side == _UNDECIDED
    side[undecided] = np.where(winding[undecided] > 0.5, -1, 1)
    return np.where((winding > ENCLOSED) & (side != 0), -1.0, side)
