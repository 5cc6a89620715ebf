"""The line between the lips, from corner to corner, at any t."""

from __future__ import annotations

import numpy as np

from ...geometry.rows import row_norms
from ...model.arrays import FloatArray
from ..head_frame import HeadFrame
from ..motion.posed import Posed
from ..motion.poses import Poses
from ..posable import PosableDesign

MOUTH_LANDMARKS = ("cheilion_left", "cheilion_right", "stomion_superius", "stomion_inferius")


class MouthLine:
    """The line between the lips, through the corners and the midline, at any t.

    Parameters
    ----------
    fitting, poses
        The design and its motion.
    frame
        Which way is left, front and up.

    Raises
    ------
    KeyError
        When one of ``MOUTH_LANDMARKS`` is missing; ask ``missing_landmarks`` first.
    """

    def __init__(self, fitting: PosableDesign, poses: Poses, frame: HeadFrame) -> None:
        marks = fitting.snapshot.landmarks
        self.frame = frame
        self._corners = poses.points(np.stack([marks["cheilion_right"], marks["cheilion_left"]]))
        self._stomia = margin_points(fitting, poses, frame)
        self._marks_mm = np.stack([marks[name] for name in MOUTH_LANDMARKS])

    @property
    def closing_moves_mm(self) -> float:
        """How far the mouth's landmarks move from the scan to the closed pose at most, mm."""
        right, left = self._corners(0.0)
        closed_mm = np.stack([left, right, *self._stomia(0.0)])
        return float(row_norms(closed_mm - self._marks_mm).max())

    def middle_mm(self, t: float) -> FloatArray:
        """Return the point midway between the lips at the midline, ``(3,)``, mm."""
        return np.asarray(self._stomia(t).mean(axis=0))

    def margins_mm(self, t: float) -> FloatArray:
        """Return the upper and the lower lip's margin at the midline, ``(2, 3)``, mm."""
        return self._stomia(t)

    def beside(self, across_mm: FloatArray, t: float) -> FloatArray:
        """Return the points ``(k, 3)`` of the line, and of its ends, beside places across the mouth ``(k,)``, mm."""
        right, left = self.corners(t)[:, 0]
        points = self.at(np.clip((across_mm - right) / (left - right), 0.0, 1.0), t)
        points[:, 0] = across_mm
        return points

    def corners(self, t: float) -> FloatArray:
        """Return the landmarks of the right and of the left corner ``(2, 3)`` in head coordinates, mm."""
        return self.frame.coordinates(self._corners(t))

    def at(self, share: FloatArray, t: float) -> FloatArray:
        """Return points of the line at shares of the mouth's width, 0 at the right corner, in head coordinates."""
        right, left = self.frame.coordinates(self._corners(t))
        middle = self.frame.coordinates(self.middle_mm(t)[None])[0]
        width = left[0] - right[0]
        centre = np.clip((middle[0] - right[0]) / width, 0.2, 0.8)
        bow = (middle - right - (left - right) * centre) / (centre * (1.0 - centre))
        line = right + np.outer(share, left - right) + np.outer(share * (1.0 - share), bow)
        line[:, 0] = right[0] + share * width
        return line

    def beyond(self, points: FloatArray, t: float) -> FloatArray:
        """Return each point's (left beyond the corners, front, up) relative to the line beside it, ``(k, 3)``, mm."""
        right, left = self.frame.coordinates(self._corners(t))[:, 0]
        share = np.clip((points[:, 0] - right) / (left - right), 0.0, 1.0)
        outside = np.maximum(np.maximum(right - points[:, 0], points[:, 0] - left), 0.0)
        relative = points - self.at(share, t)
        relative[:, 0] = outside
        return relative


NEAR_MARGIN_MM = 1.5
"""Vertices this little further from a margin's landmark than the nearest one may be that margin."""
SAME_LIP_SHARE = 0.5
"""Vertices belong to one lip when they sink alike, to this share of how far the base sinks anywhere."""


def margin_points(fitting: PosableDesign, poses: Poses, frame: HeadFrame) -> Posed:
    """Return where the upper and the lower margin at the midline are at any t, ``(2, 3)`` mm.

    Each landmark is tied to the nearest vertex of the base that goes with its own lip: on a scan with sealed lips both
    landmarks lie on the same spot, and only the motion tells the lips apart. The nearest, because what is left
    between the two does not turn with the jaw.
    """
    rest_mm = fitting.base.vertices_mm
    everything = poses.following(fitting.base.name, np.arange(len(rest_mm)))
    sunk_mm = (everything(0.0) - everything(1.0)) @ frame.up
    marks = [fitting.snapshot.landmarks[name] for name in ("stomion_superius", "stomion_inferius")]
    alike_mm = SAME_LIP_SHARE * float(np.abs(sunk_mm).max())
    ends = [
        _nearest_on_lip(rest_mm, mark, cost, alike_mm) for mark, cost in zip(marks, (sunk_mm, -sunk_mm), strict=True)
    ]
    offset_mm = np.stack(marks) - rest_mm[ends]
    margins = poses.following(fitting.base.name, np.array(ends))
    return lambda t: margins(t) + offset_mm


def _nearest_on_lip(points_mm: FloatArray, mark_mm: FloatArray, cost: FloatArray, alike_mm: float) -> int:
    """Return the nearest point to a mark among those near it whose cost is about as low as any of theirs."""
    far_mm = row_norms(points_mm - mark_mm)
    near = np.flatnonzero(far_mm <= far_mm.min() + NEAR_MARGIN_MM)
    own = near[cost[near] <= cost[near].min() + alike_mm]
    return int(own[far_mm[own].argmin()])


def missing_landmarks(fitting: PosableDesign) -> tuple[str, ...]:
    """Return which of the landmarks of the mouth are missing."""
    return tuple(name for name in MOUTH_LANDMARKS if name not in fitting.snapshot.landmarks)
