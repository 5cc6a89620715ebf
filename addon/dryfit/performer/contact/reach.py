"""Where every part gets to in all motions: a cheap first answer to what can meet what."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...geometry.rigid import fit_rigid
from ...geometry.rows import highs, lows, row_all, row_highs, row_lows, row_norms
from ...model.arrays import BoolArray, FloatArray
from ...model.snapshot import Part, Role
from ..fitting import Fitting
from ..motion.poses import Poses

LOOKED_T = (0.0, 0.25, 0.5, 0.75, 1.0)
RIDING_SLACK_MM = 2.0
"""A point that rides the skin may leave the boxes of its foot's triangle by this much, as its offset turns."""
NEAR_MM = 2.0
"""Boxes further apart than this never meet between the poses looked at."""
STILL_MM = 0.1
"""What moves less than this against something else does not run into it."""


class Reach:
    """The box of each vertex over all motions.

    Parameters
    ----------
    fitting
        The design.

    Raises
    ------
    NoMotion
        When one of its motions cannot be posed.
    """

    def __init__(self, fitting: Fitting) -> None:
        self._fitting = fitting
        _motions(fitting)
        self._boxes: dict[str, tuple[FloatArray, FloatArray]] = {}
        self._face_boxes: dict[str, tuple[FloatArray, FloatArray]] = {}

    def boxes(self, part: Part) -> tuple[FloatArray, FloatArray]:
        """Return the lowest and the highest place of each vertex of a part, ``(n, 3)`` each, mm."""
        if part.name not in self._boxes:
            self._boxes[part.name] = self._fitting.kept.of(_swept, part, self._fitting.among(part))
        return self._boxes[part.name]

    def near(self, part: Part, other: Part) -> BoolArray:
        """Return which triangles of a part can come near the box that another part sweeps, ``(m,)``."""
        (low, high), (other_low, other_high) = self.face_boxes(part), self.face_boxes(other)
        below = row_all(low <= highs(other_high) + NEAR_MM)
        return np.asarray(below & row_all(high >= lows(other_low) - NEAR_MM))

    def face_boxes(self, part: Part) -> tuple[FloatArray, FloatArray]:
        """Return the lowest and the highest place of each triangle of a part, ``(m, 3)`` each, mm."""
        if part.name not in self._face_boxes:
            a, b, c = part.faces.T
            low, high = self.boxes(part)
            self._face_boxes[part.name] = (
                np.minimum(np.minimum(low[a], low[b]), low[c]),
                np.maximum(np.maximum(high[a], high[b]), high[c]),
            )
        return self._face_boxes[part.name]


Boxes = tuple[FloatArray, FloatArray]


def _motions(fitting: Fitting) -> list[Poses]:
    return [fitting.poses(name) for name in fitting.motion_names]


def _swept(part: Part, fitting: Fitting) -> Boxes:
    """Return the lowest and the highest place of each vertex of a part over all motions, ``(n, 3)`` each, mm."""
    motions = _motions(fitting)
    keyed = [motion.source.keyed for motion in motions]
    own = any(source is not None and source.moves(part.name) for source in keyed)
    return _riding(part, fitting) if part.role == Role.APPLIANCE and not own else _posed(part, motions)


def _posed(part: Part, motions: Sequence[Poses]) -> Boxes:
    low, high = part.vertices_mm.copy(), part.vertices_mm.copy()
    for motion in motions:
        for t in LOOKED_T:
            at = motion.vertices(part.name, t)
            np.minimum(low, at, out=low)
            np.maximum(high, at, out=high)
    return low, high


def _riding(part: Part, fitting: Fitting) -> Boxes:
    """Bound what a riding piece does by what the skin under each of its vertices does."""
    base, surface = fitting.base, fitting.base_surface
    low, high = fitting.head.kept.of(_swept, base, fitting.head)
    feet = surface.faces[surface.closest(part.vertices_mm).face]
    down = row_lows((low - base.vertices_mm)[feet])
    up = row_highs((high - base.vertices_mm)[feet])
    return part.vertices_mm + down - RIDING_SLACK_MM, part.vertices_mm + up + RIDING_SLACK_MM


def move_apart(first: Sequence[FloatArray], second: Sequence[FloatArray]) -> bool:
    """Tell whether two bodies move against each other between two poses.

    They do not when one rigid motion takes both along; anything that bends moves against everything.

    Parameters
    ----------
    first, second
        Each body's vertices ``(n, 3)``, mm, at the one pose and at the other.
    """
    motion = fit_rigid(first[0], first[1])
    off = [row_norms(motion.apply(body[0]) - body[1]).max() for body in (first, second)]
    return bool(max(off) > STILL_MM)
