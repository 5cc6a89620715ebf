"""The rigid motion that best carries one set of points onto another."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import FloatArray
from .rows import row_norms


@dataclass(frozen=True)
class RigidFit:
    """A turn and a shift.

    Attributes
    ----------
    turn
        Rotation matrix ``(3, 3)``.
    shift_mm
        How far the points' middle moved, ``(3,)``.
    residual_mm
        Largest distance left after the motion.
    """

    turn: FloatArray
    shift_mm: FloatArray
    residual_mm: float

    @property
    def angle_deg(self) -> float:
        """Angle of the turn, degrees."""
        sine = np.linalg.norm(self.turn - self.turn.T) / np.sqrt(8.0)
        return float(np.degrees(np.arctan2(sine, (np.trace(self.turn) - 1.0) / 2.0)))


def rigid_fit(before_mm: FloatArray, after_mm: FloatArray) -> RigidFit:
    """Return the rigid motion from points ``(n, 3)`` to the same points later ``(n, 3)``, in the least squares sense.

    Kabsch 1976, doi 10.1107/S0567739476001873; mirrored solutions are excluded.
    """
    middle, later = before_mm.mean(axis=0), after_mm.mean(axis=0)
    left, _, right = np.linalg.svd((before_mm - middle).T @ (after_mm - later))
    flip = np.diag([1.0, 1.0, np.sign(np.linalg.det(left @ right))])
    turn: FloatArray = (left @ flip @ right).T
    rest = (before_mm - middle) @ turn.T + later - after_mm
    return RigidFit(turn, later - middle, float(row_norms(rest).max(initial=0.0)))
