"""Where an edge may end: skin that stretches little, is wide enough for the blend, and lies off the lines that move."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..geometry import Surface, distance_along
from ..geometry.rows import row_all
from ..geometry.stretch import StretchGauge
from ..model.arrays import BoolArray, FloatArray, IntArray
from ..performer.edge_lines import FOLD, edge_lines
from ..performer.fitting import Fitting
from .skin import Ground


@dataclass(frozen=True)
class EdgeRoom:
    """Where an edge may end.

    Attributes
    ----------
    points_mm, faces
        The skin, ``(n, 3)`` and ``(m, 3)``.
    allowed
        Which vertices an edge may lie at, ``(n,)``.
    stretch
        The greatest lengthening of the skin about each over all poses, fraction of length, ``(n,)``; nan where nothing
        moves.
    why
        What could not be told and what to add, or ``""``.
    """

    points_mm: FloatArray
    faces: IntArray
    allowed: BoolArray
    stretch: FloatArray
    why: str = ""

    def nearest(self, line_mm: FloatArray) -> FloatArray:
        """Return the rim nearest to a drawn one ``(k, 3)``, mm: each place moved to where an edge may end.

        Returns
        -------
        ``(k, 3)``; nan where no skin allows an edge.
        """
        inside = row_all(self.allowed[self.faces])
        if not inside.any():
            return np.full(line_mm.shape, np.nan)
        return np.asarray(Surface(self.points_mm, self.faces[inside], facing_out=True).closest(line_mm).point)


def edge_room(fitting: Fitting, skin: Ground, poses_mm: list[FloatArray]) -> EdgeRoom:
    """Return where an edge may end.

    Parameters
    ----------
    fitting, skin
        The head and its skin.
    poses_mm
        The skin at rest and in every pose, ``(n, 3)`` each.
    """
    limits = fitting.brief.limits
    lines, missing = edge_lines(fitting)
    stretch = _stretch(skin, poses_mm)
    allowed = skin.sculpted & ~(np.nan_to_num(stretch, nan=np.inf) > limits.rim_skin_strain)
    near = np.flatnonzero(allowed)
    for line in lines:
        if line.kind != FOLD:
            allowed[near] &= line.distance_mm(skin.points_mm[near]) >= limits.edge_line_mm
    why = ["Nothing moves, so how skin stretches is not known."] if np.isnan(stretch).all() else []
    for line_missing in missing:
        marks = ", ".join(line_missing.landmarks) or "an eyeball"
        why.append(f"The {line_missing.name} was not found: add {marks}.")
    opened = _opened(skin, allowed, 0.5 * limits.blend_width_mm)
    return EdgeRoom(skin.points_mm, skin.faces, opened, stretch, " ".join(why))


def _stretch(skin: Ground, poses_mm: list[FloatArray]) -> FloatArray:
    """Return the greatest lengthening over all poses of the triangles about each vertex, ``(n,)``."""
    if len(poses_mm) < 2:
        return np.full(len(skin.points_mm), np.nan)
    gauge = StretchGauge(skin.points_mm, skin.faces)
    most = np.fmax.reduce([gauge.read(posed).largest - 1.0 for posed in poses_mm[1:]])
    stretch = np.zeros(len(skin.points_mm))
    for corner in range(3):
        np.fmax.at(stretch, skin.faces[:, corner], most)
    return stretch


def _opened(skin: Ground, allowed: BoolArray, half_mm: float) -> BoolArray:
    """Return what of some skin ``(n,)`` belongs to a strip twice ``half_mm`` wide of it: an opening along the skin."""
    if allowed.all() or not allowed.any() or half_mm <= 0.0:
        return allowed
    to_other, _ = distance_along(skin.points_mm, skin.faces, np.flatnonzero(~allowed), half_mm)
    inner = np.flatnonzero(allowed & (to_other >= half_mm))
    to_inner, _ = distance_along(skin.points_mm, skin.faces, inner, half_mm)
    return np.asarray(allowed & (to_inner <= half_mm))
