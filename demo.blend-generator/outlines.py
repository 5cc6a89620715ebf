"""Where a piece ends: a closed line drawn on a view of the head."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .noise import layered_noise

FloatArray = npt.NDArray[np.float64]
OFF_MM = -50.0


@dataclass(frozen=True)
class View:
    """A direction the head is drawn from: turns in degrees, to the performer's left and up from the front."""

    left_deg: float = 0.0
    up_deg: float = 0.0

    @property
    def axes(self) -> FloatArray:
        """Rows ``(3, 3)``: right and up in the drawing, and toward the viewer."""
        left, up = np.radians([self.left_deg, self.up_deg])
        toward = np.array([np.sin(left) * np.cos(up), -np.cos(left) * np.cos(up), np.sin(up)])
        right = np.array([np.cos(left), np.sin(left), 0.0])
        return np.stack([right, np.cross(toward, right), toward])

    def drawn(self, points_mm: FloatArray) -> FloatArray:
        """Return points ``(n, 3)`` as (right, up, toward the viewer), mm."""
        seen: FloatArray = points_mm @ self.axes.T
        return seen

    def in_space(self, drawn_mm: FloatArray) -> FloatArray:
        """Undo ``drawn``."""
        points: FloatArray = drawn_mm @ self.axes
        return points


@dataclass(frozen=True)
class Outline:
    """A closed line on a view, smooth through its points, with a hand-torn wobble.

    Attributes
    ----------
    view
        What it is drawn on.
    points_mm
        ``(k, 2)`` (right, up), in order around the piece.
    wobble_mm
        How far the line strays, at most about this much.
    seed
        Which wobble.
    """

    view: View
    points_mm: tuple[tuple[float, float], ...]
    wobble_mm: float = 0.9
    seed: int = 1

    def mirrored(self) -> "Outline":
        """Return the outline on the other side of the head."""
        view = View(-self.view.left_deg, self.view.up_deg)
        flipped = tuple((-right, up) for right, up in reversed(self.points_mm))
        return Outline(view, flipped, self.wobble_mm, self.seed + 1)

    def line(self) -> FloatArray:
        """Return the smooth closed line ``(m, 2)``: a centripetal-free Catmull-Rom spline, 12 steps a span."""
        points = np.array(self.points_mm)
        before, after, beyond = (np.roll(points, turn, axis=0) for turn in (1, -1, -2))
        share = np.linspace(0.0, 1.0, 12, endpoint=False)[:, None, None]
        spans = 0.5 * (
            2.0 * points
            + (after - before) * share
            + (2.0 * before - 5.0 * points + 4.0 * after - beyond) * share**2
            + (3.0 * points - before - 3.0 * after + beyond) * share**3
        )
        return spans.transpose(1, 0, 2).reshape(-1, 2)

    def inside_mm(self, points_mm: FloatArray) -> FloatArray:
        """Return how far inside the line each point ``(n, 3)`` is drawn, mm; negative outside, at least -50."""
        drawn = self.view.drawn(points_mm)[:, :2]
        line = self.line()
        near = ((drawn > line.min(axis=0) - 20.0) & (drawn < line.max(axis=0) + 20.0)).all(axis=1)
        inside = np.full(len(points_mm), OFF_MM)
        wobble = self.wobble_mm * layered_noise(drawn[near, 0] / 13.0, drawn[near, 1] / 13.0, self.seed)
        inside[near] = np.maximum(signed_distance(drawn[near], line) + wobble, OFF_MM)
        return inside


def signed_distance(points: FloatArray, line: FloatArray) -> FloatArray:
    """Return the distance ``(n,)`` from points ``(n, 2)`` to a closed line ``(m, 2)``, positive inside."""
    distance = np.full(len(points), np.inf)
    crossings = np.zeros(len(points), np.int64)
    for start, end in zip(line, np.roll(line, -1, axis=0), strict=True):
        step, away = end - start, points - start
        share = np.clip(away @ step / max(step @ step, 1e-12), 0.0, 1.0)
        distance = np.minimum(distance, ((away - share[:, None] * step) ** 2).sum(axis=1))
        spans = (start[1] > points[:, 1]) != (end[1] > points[:, 1])
        if spans.any():
            where = start[0] + (points[:, 1] - start[1]) * step[0] / (step[1] if step[1] else 1.0)
            crossings += spans & (points[:, 0] < where)
    signed: FloatArray = np.where(crossings % 2 == 1, 1.0, -1.0) * np.sqrt(distance)
    return signed
