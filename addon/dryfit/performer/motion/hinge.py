"""A jaw for a face that has none: an axis from landmarks, a finite turn about it, and the slide that goes with it."""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass, replace

import numpy as np

from ...geometry.rigid import RigidMotion, turn_about
from ...model.arrays import FloatArray, IntArray
from ...model.brief import HingeBrief
from ..head_frame import HeadFrame, unit
from .posed import Posed

AXIS_LANDMARKS = ("tragion_left", "tragion_right", "exocanthion_left", "exocanthion_right")
HINGE_LANDMARKS = (
    *AXIS_LANDMARKS, "cheilion_left", "cheilion_right", "stomion_superius", "stomion_inferius", "gnathion",
)  # fmt: skip
"""For an axis, and for telling the lower jaw from the rest of the face."""
MOST_OPEN_DEG = 60.0
"""No mouth is scanned or sculpted further open than this (34 degrees at full opening: Leader et al. 2003)."""


@dataclass(frozen=True)
class Hinge:
    """The mandible's path: a turn about an axis with a forward slide in proportion.

    Attributes
    ----------
    point_mm
        A point of the axis, midway between its ends, ``(3,)``.
    axis
        Unit vector toward the performer's left; a positive turn about it opens the mouth.
    open_rad
        The turn at t = 1.
    slide_mm
        The slide at t = 1, ``(3,)``, mm.
    rest_t
        Where on the path the scan was taken: 0 with the jaw closed, more on a scan or sculpt with an open mouth.
    """

    point_mm: FloatArray
    axis: FloatArray
    open_rad: float
    slide_mm: FloatArray
    rest_t: float = 0.0

    @classmethod
    def from_landmarks(cls, landmarks: Mapping[str, FloatArray], stated: HingeBrief) -> Hinge:
        """Build the hinge.

        The axis runs through the points ``axis_offset_mm`` in front of each tragion toward the outer eye corner
        (12-13 mm: Simpson et al. 1984, J Prosthet Dent), unless the wearer's own ends are stated. The slide is
        coupled to the turn (about 1.5 degrees a millimetre: Leader et al. 2003, J Biomech 36:275-281) and runs
        ``slide_down_deg`` below the line from tragion to eye corner.

        Raises
        ------
        KeyError
            When one of ``AXIS_LANDMARKS`` is missing; ask ``missing_for_hinge`` first.
        """
        tragia = {side: landmarks[f"tragion_{side}"] for side in ("left", "right")}
        forward = {side: unit(landmarks[f"exocanthion_{side}"] - tragia[side]) for side in tragia}
        ends = {side: tragia[side] + stated.axis_offset_mm * forward[side] for side in tragia}
        if stated.axis_left_mm and stated.axis_right_mm:
            ends = {"left": np.array(stated.axis_left_mm), "right": np.array(stated.axis_right_mm)}
        axis = unit(ends["left"] - ends["right"])
        ahead = forward["left"] + forward["right"]
        ahead = unit(ahead - axis * (ahead @ axis))
        downward = turn_about(np.zeros(3), axis, np.radians(stated.slide_down_deg)).rotation @ ahead
        slide_mm = downward * (stated.open_deg / stated.slide_deg_per_mm)
        return cls(0.5 * (ends["left"] + ends["right"]), axis, float(np.radians(stated.open_deg)), slide_mm)

    def motion_at(self, t: float) -> RigidMotion:
        """Return the mandible's motion from rest at ``t``."""
        return self._from_closed(t).after(self._from_closed(self.rest_t).inverse)

    def _from_closed(self, t: float) -> RigidMotion:
        turn = turn_about(self.point_mm, self.axis, self.open_rad * t)
        return RigidMotion(turn.rotation, turn.shift_mm + self.slide_mm * t)

    def carried(self, points_mm: FloatArray, weights: FloatArray, t: float) -> FloatArray:
        """Return points ``(k, 3)``, mm, that take the share ``weights`` ``(k,)`` of the turn and of the slide.

        Each point turns by its share of the angle along a circle; nothing is taken along a chord.
        """
        angle = (self.open_rad * (t - self.rest_t)) * weights[:, None]
        arm = points_mm - np.outer(weights * self.rest_t, self.slide_mm) - self.point_mm
        along = np.outer(arm @ self.axis, self.axis)
        across = arm - along
        turned = along + np.cos(angle) * across + np.sin(angle) * np.cross(self.axis, across)
        return np.asarray(self.point_mm + turned + np.outer(weights * t, self.slide_mm))

    def moved(self, offset_mm: FloatArray) -> Hinge:
        """Return the same hinge with its axis moved by ``offset_mm`` ``(3,)``."""
        return replace(self, point_mm=self.point_mm + offset_mm)

    def found_open(self, upper_mm: FloatArray, lower_mm: FloatArray, up: FloatArray) -> Hinge:
        """Return the same path with rest where a lower point ``(3,)`` must come from to meet the height of an upper.

        The turn is found by bisection between nothing and ``MOST_OPEN_DEG``; t = 1 is moved out where the rest pose
        is open further than that.
        """
        shut, wide = 0.0, np.radians(MOST_OPEN_DEG)
        while wide - shut > 1e-9:
            middle = 0.5 * (shut + wide)
            raised_mm = self.resting_at(middle).motion_at(0.0).apply(lower_mm)
            shut, wide = (middle, wide) if raised_mm @ up < upper_mm @ up else (shut, middle)
        return self.resting_at(shut)

    def resting_at(self, rest_rad: float) -> Hinge:
        """Return the same path with the scan taken at a turn of ``rest_rad`` from closed."""
        open_rad = max(self.open_rad, rest_rad)
        slide_mm = self.slide_mm * (open_rad / self.open_rad)
        return replace(self, open_rad=open_rad, slide_mm=slide_mm, rest_t=rest_rad / open_rad)

    def following(self, vertices_mm: FloatArray, weights: FloatArray, ids: IntArray) -> Posed:
        """Return where some vertices of a skin with jaw weights ``(n,)`` are at any t."""
        points, shares = vertices_mm[ids], weights[ids]
        return lambda t: self.carried(points, shares, t)


def missing_for_hinge(landmarks: Container[str]) -> tuple[str, ...]:
    """Return which landmarks are missing for an axis and for telling the lower jaw from the rest of the face."""
    return tuple(name for name in HINGE_LANDMARKS if name not in landmarks)


def head_axes(landmarks: Mapping[str, FloatArray]) -> HeadFrame:
    """Return the head's axes; with the landmarks of a hinge, tragia and chin are always there to read them from.

    Where sellion is missing, the line from the middle of the eye corners to gnathion stands in for the upright.
    """
    frame = HeadFrame.from_landmarks(landmarks)
    if not frame.assumed:
        return frame
    eyes = 0.5 * (landmarks["exocanthion_left"] + landmarks["exocanthion_right"])
    return HeadFrame.from_landmarks({**landmarks, "sellion": eyes})
