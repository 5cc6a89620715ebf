"""Least trimmed squares: the motion that the best agreeing share of matching points makes."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

import numpy as np
import numpy.typing as npt

from ..model.arrays import BoolArray, FloatArray
from .rows import row_norms

TRIM_ROUNDS = 12
STARTS = 120
START_POINTS = 4
"""So few points start a fit that some starts are free of wrong ones."""


class Moves(Protocol):
    """A motion of points."""

    def apply(self, points_mm: npt.ArrayLike) -> FloatArray:
        """Return the moved points, ``(..., 3)`` mm."""


Motion = TypeVar("Motion", bound=Moves)
Fit = Callable[[FloatArray, FloatArray], Motion]
"""From matching points ``(n, 3)`` before and after to the motion that fits them best."""


@dataclass(frozen=True)
class Agreement(Generic[Motion]):
    """What the best agreeing points do.

    Attributes
    ----------
    motion
        Their motion.
    kept
        Which points they are, ``(n,)``.
    misfit_mm
        Mean distance that it leaves between them.
    """

    motion: Motion
    kept: BoolArray
    misfit_mm: float


def agreeing_from(
    fit: Fit[Motion], before_mm: FloatArray, after_mm: FloatArray, start: BoolArray, keep: float
) -> Agreement[Motion]:
    """Fit, keep the share that fits best, and repeat until the same points are kept.

    Parameters
    ----------
    fit
        The kind of motion.
    before_mm, after_mm
        Matching points ``(n, 3)``, mm.
    start
        ``(n,)``, the points fitted first; at least one.
    keep
        Share of the points, by count, that moves alike; the rest may stretch or be wrong as it likes.

    Notes
    -----
    Trimmed fitting after Chetverikov et al. 2005, Image and Vision Computing 23:299, doi 10.1016/j.imavis.2004.05.007.
    """
    kept = start
    count = min(max(int(np.ceil(keep * len(before_mm))), 3), len(before_mm))
    for _ in range(TRIM_ROUNDS):
        motion = fit(before_mm[kept], after_mm[kept])
        residual_mm = row_norms(motion.apply(before_mm) - after_mm)
        chosen = residual_mm <= np.partition(residual_mm, count - 1)[count - 1]
        settled = bool((chosen == kept).all())
        kept = chosen
        if settled:
            break
    return Agreement(motion, kept, float(residual_mm[kept].mean()))


def agreeing(fit: Fit[Motion], before_mm: FloatArray, after_mm: FloatArray, keep: float) -> Agreement[Motion]:
    """Return the best of many such fits, each started from a few points, so that none of them is relied on.

    Parameters
    ----------
    fit, before_mm, after_mm, keep
        As for ``agreeing_from``.

    Notes
    -----
    Many random starts: Rousseeuw & Van Driessen 2006, Data Min Knowl Discov 12:29, doi 10.1007/s10618-005-0024-4. The
    same ones every time.
    """
    random = np.random.default_rng(3)
    best = agreeing_from(fit, before_mm, after_mm, np.ones(len(before_mm), bool), keep)
    for _ in range(STARTS):
        start = np.zeros(len(before_mm), bool)
        start[random.choice(len(before_mm), size=min(START_POINTS, len(before_mm)), replace=False)] = True
        found = agreeing_from(fit, before_mm, after_mm, start, keep)
        best = found if found.misfit_mm < best.misfit_mm else best
    return best
