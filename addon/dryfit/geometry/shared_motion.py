"""Points that take only a share of a rigid motion, each along its own arc of the same screw."""

import numpy as np

from ..model.arrays import FloatArray
from .rigid import RigidMotion, rotation_vector


def shared_motion(motion: RigidMotion, points_mm: FloatArray, shares: FloatArray) -> FloatArray:
    """Return points ``(k, 3)``, mm, after the given shares ``(k,)`` of a motion.

    A share of 1 is the whole motion, 0 leaves a point where it is, and two shares one after the other add up: every
    rigid motion is a turn about an axis with a slide along it (Chasles), and a share is as much of both.

    Parameters
    ----------
    motion
        A turn of less than half a turn, and any shift.
    points_mm, shares
        ``(k, 3)`` mm and ``(k,)``.

    Notes
    -----
    The exponential of a share of the twist: Murray, Li & Sastry 1994, A Mathematical Introduction to Robotic
    Manipulation, proposition 2.9.
    """
    turn = rotation_vector(motion.rotation)
    angle = float(np.linalg.norm(turn))
    cross = np.array([[0.0, -turn[2], turn[1]], [turn[2], 0.0, -turn[0]], [-turn[1], turn[0], 0.0]])
    _, second, third = (float(term[0]) for term in _terms(angle, np.ones(1)))
    speed = np.linalg.solve(np.eye(3) + second * cross + third * (cross @ cross), motion.shift_mm)
    first_share, second_share, third_share = (term[:, None] for term in _terms(angle, shares))
    turned = first_share * (points_mm @ cross.T) + second_share * (points_mm @ (cross @ cross).T)
    slid = shares[:, None] * speed + second_share * (cross @ speed) + third_share * (cross @ cross @ speed)
    return np.asarray(points_mm + turned + slid)


def _terms(angle: float, shares: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return ``sin(wa)/a``, ``(1 - cos(wa))/a2`` and ``(wa - sin(wa))/a3`` at shares w ``(k,)``, also at a = 0."""
    part = shares * angle
    first = shares * np.sinc(part / np.pi)
    second = 0.5 * (shares * np.sinc(part / (2.0 * np.pi))) ** 2
    # below this the difference would cancel; the next term of the series is then 1e-10 of the first
    small = np.abs(part) < 1e-4
    safe = np.where(small, 1.0, part)
    third = shares**3 * np.where(small, 1.0 / 6.0, (safe - np.sin(safe)) / safe**3)
    return first, second, third
