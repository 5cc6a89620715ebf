"""Which way is left, front and up on this head, read from landmarks."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..geometry.rigid import rotation_matrix, turn_about
from ..model.arrays import FloatArray

PAIRS = ("tragion", "exocanthion", "cheilion", "endocanthion", "alare", "pupil")


@dataclass(frozen=True)
class Upright:
    """Two landmarks, the first above the second on an upright face, and what their line tells of upright.

    Attributes
    ----------
    top, low
        Their names.
    leans_deg
        How far ahead of the line from gnathion to sellion, which is what upright means here, this one leans.
    off_deg
        How far a face may differ from that.
    """

    top: str
    low: str
    leans_deg: float = 0.0
    off_deg: float = 0.0

    @property
    def names(self) -> tuple[str, str]:
        """Both names."""
        return self.top, self.low


UPRIGHTS = (
    Upright("sellion", "gnathion"),
    Upright("subnasale", "gnathion", 10.7, 4.0),
    Upright("sellion", "subnasale", -12.8, 5.4),
    Upright("vertex_top", "gnathion", -26.4, 4.0),
)
"""Best first. Lean: the mean of the six people of the CC0 head (a child, four adults and their average), and twice
their scatter; a face of its own may differ more."""
ASSUMED_FRONT = (
    "The head was taken to face -Y with +Z up, because landmarks are missing: add sellion and gnathion, and a pair "
    "such as tragion_left and tragion_right."
)


@dataclass(frozen=True)
class HeadFrame:
    """Unit vectors ``(3,)`` toward the performer's left, front and crown.

    ``assumed`` is True where landmarks were missing and Blender's convention (front is -Y, up is +Z) stands in;
    ``read_from`` is the pair that up was read from, and None then.
    """

    left: FloatArray
    front: FloatArray
    up: FloatArray
    assumed: bool
    read_from: Upright | None = None

    @classmethod
    def from_landmarks(cls, landmarks: Mapping[str, FloatArray]) -> "HeadFrame":
        """Read the axes from landmarks; too few, or all on one line, give Blender's convention, marked as assumed."""
        landmarks = shut(landmarks)
        across = [landmarks[f"{name}_left"] - landmarks[f"{name}_right"] for name in PAIRS
                  if f"{name}_left" in landmarks and f"{name}_right" in landmarks]  # fmt: skip
        pair = next((each for each in UPRIGHTS if {*each.names} <= {*landmarks}), None)
        left = unit(np.sum(across, axis=0)) if across else np.zeros(3)
        line = np.zeros(3) if pair is None else landmarks[pair.top] - landmarks[pair.low]
        if pair is None or not left.any() or not unit(line - left * (line @ left)).any():
            return cls(np.array([1.0, 0, 0]), np.array([0, -1.0, 0]), np.array([0, 0, 1.0]), True)
        up = rotation_matrix(-np.radians(pair.leans_deg) * left) @ unit(line - left * (line @ left))
        return cls(left, np.cross(left, up), up, False, pair)

    @property
    def off_deg(self) -> float:
        """How far up may lean ahead or back of where it is taken to point, for want of landmarks."""
        return 0.0 if self.read_from is None else self.read_from.off_deg

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


OPEN_MM = 5.0
"""Lips further apart than this at the midline belong to an open mouth (relaxed ones are 0-5 mm apart: Arnett & Bergman
1993, from memory)."""
BELOW_CONDYLE_MM = 32.4
"""From closed to full opening the mandible turns about a point this far below the condyle (Mehl et al. 2025, Clin Oral
Investig, doi 10.1007/s00784-025-06619-4)."""
CONDYLE_MM = 12.0
"""From tragion toward the outer eye corner (Simpson et al. 1984, J Prosthet Dent)."""
SHUT_BY = ("tragion_left", "tragion_right", "exocanthion_left", "exocanthion_right",
           "stomion_superius", "stomion_inferius", "gnathion")  # fmt: skip


def shut(landmarks: Mapping[str, FloatArray]) -> Mapping[str, FloatArray]:
    """Return the landmarks with gnathion where it is when the mouth is shut, so that an open one tilts no head.

    Gnathion is turned back by the angle between the lips, seen from where the mandible turns; with lips no further
    apart than ``OPEN_MM``, or with one of ``SHUT_BY`` missing, nothing is changed.
    """
    if any(name not in landmarks for name in SHUT_BY):
        return landmarks
    upper, lower = landmarks["stomion_superius"], landmarks["stomion_inferius"]
    if np.linalg.norm(upper - lower) <= OPEN_MM:
        return landmarks
    left = unit(landmarks["tragion_left"] - landmarks["tragion_right"])
    ears, eyes = (0.5 * (landmarks[f"{name}_left"] + landmarks[f"{name}_right"]) for name in ("tragion", "exocanthion"))
    ahead = unit(eyes - ears - left * ((eyes - ears) @ left))
    centre = ears + CONDYLE_MM * ahead - BELOW_CONDYLE_MM * np.cross(left, ahead)
    before, after = (place - centre - left * ((place - centre) @ left) for place in (lower, upper))
    angle = float(np.arctan2(np.cross(before, after) @ left, before @ after))
    return {**landmarks, "gnathion": turn_about(centre, left, angle).apply(landmarks["gnathion"])}


def unit(vector: npt.ArrayLike) -> FloatArray:
    """Return the vector scaled to length 1; a zero vector stays zero."""
    array = np.asarray(vector, dtype=np.float64)
    length = np.linalg.norm(array)
    return array / length if length else array
