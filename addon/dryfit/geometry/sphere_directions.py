"""Directions in space: evenly over the sphere, across an axis, and along meridians away from one."""

import numpy as np
import numpy.typing as npt

from ..model.arrays import FloatArray

GOLDEN_ANGLE = np.pi * (3.0 - 5.0**0.5)


def even_directions(count: int) -> FloatArray:
    """Return ``(count, 3)`` unit vectors, each standing for the same solid angle, 4 pi / count.

    Notes
    -----
    Spherical Fibonacci points (Swinbank & Purser 2006, doi 10.1256/qj.05.227); the same ones every time.
    """
    number = np.arange(count)
    height = 1.0 - (2.0 * number + 1.0) / count
    ring = np.sqrt(1.0 - height**2)
    turn = GOLDEN_ANGLE * number
    return np.stack([ring * np.cos(turn), ring * np.sin(turn), height], axis=1)


def across_directions(axis: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return two unit directions ``(3,)`` at right angles to a unit axis and to each other."""
    least = np.eye(3)[np.abs(axis).argmin()]
    across = np.cross(axis, least)
    across = across / np.linalg.norm(across)
    return across, np.cross(axis, across)


def meridian_directions(axes: FloatArray, meridian_deg: float, off_axis_deg: npt.ArrayLike) -> FloatArray:
    """Return the directions ``(k, 3)`` along one meridian.

    Parameters
    ----------
    axes
        ``(3, 3)`` rows: the right-hand side seen by whoever looks back along the axis, the axis, and up.
        For a head frame (left, front, up), meridian 0 runs to the performer's left, 90 up, 180 right, 270 down.
    meridian_deg
        The meridian.
    off_axis_deg
        Angles from the axis, ``(k,)``.
    """
    off, turn = np.radians(np.asarray(off_axis_deg, dtype=np.float64)), np.radians(meridian_deg)
    side = np.cos(turn) * axes[0] + np.sin(turn) * axes[2]
    directions: FloatArray = np.outer(np.cos(off), axes[1]) + np.outer(np.sin(off), side)
    return directions


def first_break_deg(off_axis_deg: FloatArray, blocked: npt.NDArray[np.bool_], least_deg: float) -> float:
    """Return the angle at which the first blocked stretch begins that is at least ``least_deg`` wide.

    Angles ascend evenly. The answer is midway between the last open and the first blocked one, the last angle where
    nothing blocks, and the first where it is blocked from the start. A stretch that reaches the last angle
    counts whatever its width.
    """
    step = off_axis_deg[1] - off_axis_deg[0]
    change = np.flatnonzero(np.diff(np.concatenate([[False], blocked, [False]]).astype(np.int8)))
    for start, end in zip(change[::2], change[1::2], strict=True):
        if (end - start) * step >= least_deg or end == len(blocked):
            return float(off_axis_deg[start] - (step / 2.0 if start else 0.0))
    return float(off_axis_deg[-1])
