"""Similarities: a turn, a shift and one scale."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.arrays import FloatArray, frozen
from .rigid import fit_rigid
from .rows import row_sums


@dataclass(frozen=True)
class Similarity:
    """``p -> scale * rotation @ p + shift_mm``.

    Attributes
    ----------
    scale
        Over zero.
    rotation
        ``(3, 3)``, proper orthogonal.
    shift_mm
        ``(3,)``, mm.
    """

    scale: float
    rotation: FloatArray
    shift_mm: FloatArray

    def __post_init__(self) -> None:
        """Freeze the arrays."""
        object.__setattr__(self, "rotation", frozen(self.rotation, np.float64))
        object.__setattr__(self, "shift_mm", frozen(self.shift_mm, np.float64))

    def apply(self, points_mm: npt.ArrayLike) -> FloatArray:
        """Return the moved points, ``(..., 3)`` mm."""
        moved: FloatArray = self.scale * (np.asarray(points_mm, dtype=np.float64) @ self.rotation.T) + self.shift_mm
        return moved

    def turn(self, directions: npt.ArrayLike) -> FloatArray:
        """Return turned directions, ``(..., 3)``, their lengths kept."""
        turned: FloatArray = np.asarray(directions, dtype=np.float64) @ self.rotation.T
        return turned

    @property
    def inverse(self) -> "Similarity":
        """The similarity back."""
        back = self.rotation.T / self.scale
        return Similarity(1.0 / self.scale, self.rotation.T, -back @ self.shift_mm)

    def angle_to_deg(self, other: "Similarity") -> float:
        """Return the angle between two similarities' turns, 0 to 180 degrees."""
        cosine = (np.trace(self.rotation.T @ other.rotation) - 1.0) / 2.0
        return float(np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))))


def fit_similarity(
    before_mm: FloatArray,
    after_mm: FloatArray,
    weights: FloatArray | None = None,
    scale_range: tuple[float, float] = (0.0, np.inf),
) -> Similarity:
    """Return the similarity that brings ``before_mm`` nearest to ``after_mm`` in weighted least squares.

    Parameters
    ----------
    before_mm, after_mm
        Matching points ``(n, 3)``, mm, n >= 1.
    weights
        ``(n,)``, zero or more; None means equal.
    scale_range
        The scale is kept within it; two equal numbers state it.

    Notes
    -----
    Umeyama 1991, IEEE TPAMI 13:376, doi 10.1109/34.88573, with the mirror case excluded.
    """
    rotation = fit_rigid(before_mm, after_mm, weights).rotation
    share = np.full(len(before_mm), 1.0 / len(before_mm)) if weights is None else weights / weights.sum()
    middle, target = share @ before_mm, share @ after_mm
    turned = (before_mm - middle) @ rotation.T
    spread = float(share @ row_sums(turned**2))
    wanted = float(share @ row_sums(turned * (after_mm - target))) / spread if spread else 1.0
    scale = float(np.clip(wanted, *scale_range))
    return Similarity(scale, rotation, target - scale * (rotation @ middle))
