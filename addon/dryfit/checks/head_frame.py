"""Which way is left, front and up on this head, read from landmarks."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.arrays import FloatArray

PAIRS = ("tragion", "exocanthion", "cheilion", "endocanthion", "alare", "pupil")
UPRIGHT = (
    ("sellion", "gnathion"),
    ("sellion", "subnasale"),
    ("subnasale", "gnathion"),
    ("vertex_top", "gnathion"),
)
"""Pairs whose first lies above the second on an upright face, best first."""
ASSUMED_FRONT = (
    "The head was taken to face -Y with +Z up, because landmarks are missing: add sellion and gnathion, and a pair "
    "such as tragion_left and tragion_right."
)


@dataclass(frozen=True)
class HeadFrame:
    """Unit vectors ``(3,)`` toward the performer's left, front and crown.

    ``assumed`` is True where landmarks were missing and Blender's convention (front is -Y, up is +Z) stands in.
    """

    left: FloatArray
    front: FloatArray
    up: FloatArray
    assumed: bool

    @classmethod
    def from_landmarks(cls, landmarks: Mapping[str, FloatArray]) -> "HeadFrame":
        """Read the axes from the landmarks; too few of them give Blender's convention, marked as assumed."""
        across = [landmarks[f"{name}_left"] - landmarks[f"{name}_right"] for name in PAIRS
                  if f"{name}_left" in landmarks and f"{name}_right" in landmarks]  # fmt: skip
        upward = [landmarks[top] - landmarks[low] for top, low in UPRIGHT if top in landmarks and low in landmarks]
        if not across or not upward:
            return cls(np.array([1.0, 0, 0]), np.array([0, -1.0, 0]), np.array([0, 0, 1.0]), True)
        left = unit(np.sum(across, axis=0))
        up = unit(upward[0] - left * (upward[0] @ left))
        return cls(left, np.cross(left, up), up, False)

    def turned(self, angle_deg: float) -> FloatArray:
        """Return the horizontal direction ``(3,)`` at an angle from the front, positive to the performer's left."""
        angle = np.radians(angle_deg)
        direction: FloatArray = np.cos(angle) * self.front + np.sin(angle) * self.left
        return direction

    def coordinates(self, points_mm: npt.ArrayLike) -> FloatArray:
        """Return points ``(k, 3)`` as (left, front, up) coordinates, mm."""
        turned: FloatArray = np.asarray(points_mm) @ np.stack([self.left, self.front, self.up], axis=1)
        return turned

    def points(self, coordinates_mm: npt.ArrayLike) -> FloatArray:
        """Return the points ``(..., 3)`` with the given (left, front, up) coordinates, mm."""
        points: FloatArray = np.asarray(coordinates_mm) @ np.stack([self.left, self.front, self.up])
        return points


def unit(vector: npt.ArrayLike) -> FloatArray:
    """Return the vector scaled to length 1; a zero vector stays zero."""
    array = np.asarray(vector, dtype=np.float64)
    length = np.linalg.norm(array)
    return array / length if length else array
