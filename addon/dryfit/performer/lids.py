"""The gap between the lids of one eye at any t, read from the front in columns."""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..geometry import Surface
from ..geometry.rows import row_all, row_norms, row_sums
from ..model.arrays import BoolArray, FloatArray, IntArray
from .eyes import Eye
from .fitting import Fitting
from .head_frame import HeadFrame
from .motion.posed import Posed
from .motion.poses import Poses

ZONE_MM = 45.0
"""Skin nearer to the entrance pupil than this is posed; the lids and all that can meet them lie well within."""
COLUMN_MM = 0.5
ROW_MM = 0.05
AHEAD_MM = 80.0
HALF_HEIGHT_MM = 12.0
CORNER_MM = 0.5
"""Columns nearer to the corners of the eye than this are left out: there both lids are one skin."""


def lid_groups(side: str) -> tuple[str, str]:
    """Return the vertex groups that mark the upper and the lower lid."""
    return f"dryfit_lid_upper_{side}", f"dryfit_lid_lower_{side}"


def lids_can_be_read(fitting: Fitting, eye: Eye) -> bool:
    """Tell whether there is an eyeball to see between the lids, or both lids are marked."""
    return eye.part is not None or all(name in fitting.base.areas for name in lid_groups(eye.side))


def rays_from_the_front(
    eye: Eye, frame: HeadFrame, across_mm: FloatArray, height_mm: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return where rays straight at an eye start and which way they go, ``(columns * rows, 3)`` each, column by column.

    Parameters
    ----------
    across_mm, height_mm
        Where the columns and rows are to the left and up, mm, ``(columns,)`` and ``(rows,)``.
    """
    across, height = (grid.ravel() for grid in np.meshgrid(across_mm, height_mm, indexing="ij"))
    depth = eye.apex_mm @ frame.front + AHEAD_MM
    start = np.outer(across, frame.left) + np.outer(height, frame.up) + depth * frame.front
    return start, np.broadcast_to(-frame.front, start.shape)


class _MovingSkin:
    """One surface, moved to whatever pose is asked."""

    def __init__(self, surface: Surface, posed: Posed) -> None:
        self.surface, self._posed = surface, posed
        self._t = float("nan")

    def at(self, t: float) -> Surface:
        if self._t != t:
            self.surface.refit(self._posed(t))
            self._t = t
        return self.surface


@dataclass(frozen=True)
class _Ball:
    """An eyeball in one pose, and the rays from the front, ``(columns * rows, 3)`` each."""

    surface: Surface
    start_mm: FloatArray
    along: FloatArray

    @cached_property
    def distance_mm(self) -> FloatArray:
        """How far each ray goes to it, ``(columns * rows,)``, mm; inf past it."""
        return self.surface.first_hit(self.start_mm, self.along).distance_mm


class Lids:
    """The lids of one eye in one motion, of the bare base.

    Parameters
    ----------
    fitting, poses
        The design and the motion.
    eye
        Which eye; ask ``lids_can_be_read`` first.
    frame
        Which way is left, front and up.
    """

    def __init__(self, fitting: Fitting, poses: Poses, eye: Eye, frame: HeadFrame) -> None:
        self.fitting, self.poses, self.eye, self.frame = fitting, poses, eye, frame
        surface = fitting.base_surface
        near = row_norms(surface.vertices_mm - eye.entrance_mm) < ZONE_MM
        self.face_ids = np.flatnonzero(row_all(near[surface.faces]))
        self.vertex_ids, compact = np.unique(surface.faces[self.face_ids], return_inverse=True)
        rest = Surface(surface.vertices_mm[self.vertex_ids], compact.reshape(-1, 3))
        self._skin = _MovingSkin(rest, poses.following(fitting.base.name, self.vertex_ids))
        self._across, self._height = self._grid()
        self._ball: _Ball | None = None

    @property
    def content(self) -> bytes:
        """A digest of the design, which motion it is in, and which eye."""
        return self.fitting.kept.contents.of(self.fitting, self.poses.name, self.eye.side)

    def on(self, fitting: Fitting) -> Lids:
        """Return the same lids on another design of the same head, in the same motion."""
        other = copy(self)
        other.fitting, other.poses = fitting, fitting.poses(self.poses.name)
        return other

    def skin(self, t: float) -> Surface:
        """Return the skin round the eye at ``t``; the same surface every time, moved."""
        return self._skin.at(t)

    def eyeball(self, t: float) -> Surface:
        """Return the eyeball at ``t``.

        Raises
        ------
        ValueError
            When the eye has no eyeball; ask ``eye.part`` first.
        """
        return self._ball_at(t).surface

    def _ball_at(self, t: float) -> _Ball:
        """Return the eyeball and how far the rays go to it; the same one while it does not move."""
        if self.eye.part is None:
            raise ValueError(f"the {self.eye.side} eye has no eyeball")
        posed = self.poses.vertices(self.eye.part.name, t)
        if self._ball is None or not np.array_equal(self._ball.surface.vertices_mm, posed):
            self._ball = _Ball(Surface(posed, self.eye.part.faces), *self._rays())
        return self._ball

    def _rays(self) -> tuple[FloatArray, FloatArray]:
        return rays_from_the_front(self.eye, self.frame, self._across, self._height)

    def gaps_mm(self, t: float) -> FloatArray:
        """Return the gap in each column, ``(c,)``, mm: the height over which the eye is seen between the lids."""
        return np.asarray(row_sums(self._open(t)) * ROW_MM)

    def gap_mm(self, t: float) -> float:
        """Return the largest gap, mm."""
        return float(self.gaps_mm(t).max(initial=0.0))

    def widest_mm(self, t: float) -> FloatArray:
        """Return the middle of the gap where it is largest, ``(3,)``, mm, at the depth of the cornea."""
        seen = self._open(t)
        column = int(row_sums(seen).argmax())
        rows = np.flatnonzero(seen[column])
        up = self._height[rows].mean() if len(rows) else self._height.mean()
        front = self.eye.apex_mm @ self.frame.front
        place: FloatArray = self._across[column] * self.frame.left + front * self.frame.front + up * self.frame.up
        return place

    def _grid(self) -> tuple[FloatArray, FloatArray]:
        left, _, up = self.frame.coordinates(self.eye.entrance_mm[None])[0]
        across = np.array([left - 16.0, left + 16.0])
        corners = [
            self.fitting.snapshot.landmarks.get(f"{name}_{self.eye.side}") for name in ("endocanthion", "exocanthion")
        ]
        if corners[0] is not None and corners[1] is not None:
            ends = np.sort(self.frame.coordinates(np.stack([corners[0], corners[1]]))[:, 0])
            across = ends + [CORNER_MM, -CORNER_MM]
        return (
            np.arange(across[0], across[1] + 1e-9, COLUMN_MM),
            np.arange(up - HALF_HEIGHT_MM, up + HALF_HEIGHT_MM, ROW_MM),
        )

    def _open(self, t: float) -> BoolArray:
        """Return which cells of the grid show the eye, ``(columns, rows)``."""
        shape = len(self._across), len(self._height)
        if self.eye.part is None:
            return self._between_marked_lids(self.skin(t).first_hit(*self._rays()).face.reshape(shape))
        ball = self._ball_at(t)
        seen = np.isfinite(ball.distance_mm)
        seen[seen] = ~self.skin(t).blocked(ball.start_mm[seen], ball.along[seen], ball.distance_mm[seen])
        return seen.reshape(shape)

    def _between_marked_lids(self, face: IntArray) -> BoolArray:
        upper, lower = (self._on_lid(name)[face] & (face >= 0) for name in lid_groups(self.eye.side))
        over = np.cumsum(upper[:, ::-1], axis=1)[:, ::-1] > 0
        under = np.cumsum(lower, axis=1) > 0
        return np.asarray(over & under & ~upper & ~lower)

    def _on_lid(self, group: str) -> BoolArray:
        weights = self.fitting.base.areas[group][self.vertex_ids]
        return np.asarray(row_all(weights[self._skin.surface.faces] > 0.5))
