"""Rigid motions: fit them, chain them, turn about a line."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.arrays import BoolArray, FloatArray, frozen
from .rows import row_norms
from .trimmed_fit import agreeing_from


@dataclass(frozen=True)
class RigidMotion:
    """A turn and a shift: ``p -> rotation @ p + shift_mm``.

    Attributes
    ----------
    rotation
        ``(3, 3)``, proper orthogonal.
    shift_mm
        ``(3,)``, mm.
    """

    rotation: FloatArray
    shift_mm: FloatArray

    def __post_init__(self) -> None:
        """Freeze the arrays."""
        object.__setattr__(self, "rotation", frozen(self.rotation, np.float64))
        object.__setattr__(self, "shift_mm", frozen(self.shift_mm, np.float64))

    def apply(self, points_mm: npt.ArrayLike) -> FloatArray:
        """Return the moved points, ``(..., 3)`` mm."""
        moved: FloatArray = np.asarray(points_mm, dtype=np.float64) @ self.rotation.T + self.shift_mm
        return moved

    def after(self, first: "RigidMotion") -> "RigidMotion":
        """Return the motion that does ``first`` and then this one."""
        return RigidMotion(self.rotation @ first.rotation, self.rotation @ first.shift_mm + self.shift_mm)

    @property
    def inverse(self) -> "RigidMotion":
        """The motion back."""
        return RigidMotion(self.rotation.T, -self.rotation.T @ self.shift_mm)

    @property
    def angle_deg(self) -> float:
        """The turn, 0 to 180 degrees."""
        return float(np.degrees(np.linalg.norm(rotation_vector(self.rotation))))


IDENTITY = RigidMotion(np.eye(3), np.zeros(3))
"""The motion that leaves everything where it is."""


def rotation_matrix(vector_rad: npt.ArrayLike) -> FloatArray:
    """Return rotation matrices ``(..., 3, 3)`` from rotation vectors ``(..., 3)``, radians (Rodrigues' formula)."""
    vector = np.asarray(vector_rad, dtype=np.float64)
    angle = row_norms(vector)[..., None, None]
    cross = _cross_matrix(vector)
    # sin(a)/a and (1 - cos(a))/a2 in forms that hold at a = 0
    first = np.sinc(angle / np.pi)
    second = 0.5 * np.sinc(angle / (2.0 * np.pi)) ** 2
    rotation: FloatArray = np.eye(3) + first * cross + second * (cross @ cross)
    return rotation


def _cross_matrix(vector: FloatArray) -> FloatArray:
    x, y, z = np.moveaxis(vector, -1, 0)
    zero = np.zeros_like(x)
    return np.stack([zero, -z, y, z, zero, -x, -y, x, zero], axis=-1).reshape(*vector.shape[:-1], 3, 3)


def rotation_vector(rotation: npt.ArrayLike) -> FloatArray:
    """Return the rotation vector ``(3,)``, radians, of one rotation matrix; exact near 0 and near a half turn."""
    matrix = np.asarray(rotation, dtype=np.float64)
    twist = 0.5 * np.array([matrix[2, 1] - matrix[1, 2], matrix[0, 2] - matrix[2, 0], matrix[1, 0] - matrix[0, 1]])
    sine = float(np.linalg.norm(twist))
    angle = float(np.arctan2(sine, (np.trace(matrix) - 1.0) / 2.0))
    if sine > 1e-7:
        return np.asarray(twist * (angle / sine))
    if angle < 1.0:
        return twist
    # a half turn: the axis spans the image of rotation + identity
    column = (matrix + np.eye(3))[:, int(np.argmax(np.diag(matrix)))]
    return np.asarray(np.pi * column / np.linalg.norm(column))


def turn_about(point_mm: npt.ArrayLike, axis: npt.ArrayLike, angle_rad: float) -> RigidMotion:
    """Return the turn by ``angle_rad`` (right-handed) about the line through ``point_mm`` along unit ``axis``."""
    rotation = rotation_matrix(np.asarray(axis, dtype=np.float64) * angle_rad)
    point = np.asarray(point_mm, dtype=np.float64)
    return RigidMotion(rotation, point - rotation @ point)


def fit_rigid(before_mm: FloatArray, after_mm: FloatArray, weights: FloatArray | None = None) -> RigidMotion:
    """Return the rigid motion that brings ``before_mm`` nearest to ``after_mm`` in weighted least squares.

    Parameters
    ----------
    before_mm, after_mm
        Matching points ``(n, 3)``, mm, n >= 1; fewer than three, or points on one line, leave the free turn at zero.
    weights
        ``(n,)``, zero or more; None means equal.

    Notes
    -----
    Kabsch 1976, Acta Cryst. A32:922, doi 10.1107/S0567739476001873, with the mirror case excluded.
    """
    share = np.full(len(before_mm), 1.0 / len(before_mm)) if weights is None else weights / weights.sum()
    middle, target = share @ before_mm, share @ after_mm
    covariance = (after_mm - target).T @ ((before_mm - middle) * share[:, None])
    rotation = nearest_rotation(covariance)
    return RigidMotion(rotation, target - rotation @ middle)


def nearest_rotation(matrix: FloatArray) -> FloatArray:
    """Return the rotation ``(3, 3)`` that maximises its inner product with ``matrix``; zero matrix gives identity."""
    left, spread, right = np.linalg.svd(matrix)
    if spread[0] == 0.0:
        return np.eye(3)
    mirror = np.sign(np.linalg.det(left @ right))
    return np.asarray(left @ np.diag([1.0, 1.0, mirror]) @ right)


def fit_rigid_majority(
    before_mm: FloatArray, after_mm: FloatArray, start: BoolArray, keep: float = 0.5
) -> tuple[RigidMotion, BoolArray]:
    """Return the motion that the best agreeing share of the points makes, and which points those are, ``(n,)``.

    See ``trimmed_fit.agreeing_from``.
    """
    agreement = agreeing_from(fit_rigid, before_mm, after_mm, start, keep)
    return agreement.motion, agreement.kept
