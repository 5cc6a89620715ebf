"""The rigid motion that most of a moving skin agrees on, where the rest takes part only by a share."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import BoolArray, FloatArray, IntArray
from .rigid import RigidMotion, fit_rigid
from .rows import row_norms

SEEDS, NEIGHBOURS, ROUNDS = 60, 16, 4
CORE_SHARE, CORE_ROUNDS, LEAST_CORE = 0.9, 2, 24
"""Of the points that agree, so many are kept so often: the outermost already take a little less than the whole."""
ALLOWED_SHARE, ALLOWED_MM = 0.05, 0.1
"""A point agrees with a motion that leaves it short by no more than this share of its own way, and this much more."""


@dataclass(frozen=True)
class Consensus:
    """A motion and the points that make it.

    Attributes
    ----------
    motion
        The rigid motion.
    kept
        Which points agree, ``(n,)``.
    misfit_mm
        Root mean square of what it leaves of them, mm.
    """

    motion: RigidMotion
    kept: BoolArray
    misfit_mm: float


def agreed_motion(before_mm: FloatArray, after_mm: FloatArray) -> Consensus:
    """Return the motion that most points make, each judged by the length of its own way.

    Skin that takes only a share of a bone's turn goes its own shorter way; judged in millimetres alone, skin that
    hardly moves would always win. Small neighbourhoods propose motions, all points vote, the winners are fitted.

    Parameters
    ----------
    before_mm, after_mm
        Matching points ``(n, 3)``, mm, n >= 3, all of which move.

    Notes
    -----
    Random sample consensus (Fischler & Bolles 1981, doi 10.1145/358669.358692), with samples that are spread evenly
    rather than drawn, so that the answer is always the same.
    """
    best = max((_votes(before_mm, after_mm, near) for near in _neighbourhoods(before_mm)), key=lambda kept: kept.sum())
    if best.sum() < 3:
        best = np.ones(len(before_mm), bool)
    for _ in range(ROUNDS):
        again = _agreeing(before_mm, after_mm, fit_rigid(before_mm[best], after_mm[best]))
        best = again if again.sum() >= best.sum() else best
    best = _core(before_mm, after_mm, best)
    motion = fit_rigid(before_mm[best], after_mm[best])
    left_mm = row_norms(motion.apply(before_mm[best]) - after_mm[best])
    return Consensus(motion, best, float(np.sqrt(np.mean(left_mm**2))))


def _neighbourhoods(points_mm: FloatArray) -> list[IntArray]:
    """Return small groups of neighbouring points, their middles spread over all of them by farthest-first choice."""
    far_mm = np.full(len(points_mm), np.inf)
    seed = int(np.lexsort(points_mm.T)[0])
    groups: list[IntArray] = []
    for _ in range(min(SEEDS, len(points_mm))):
        from_seed = row_norms(points_mm - points_mm[seed])
        groups.append(np.argsort(from_seed, kind="stable")[:NEIGHBOURS])
        far_mm = np.minimum(far_mm, from_seed)
        seed = int(far_mm.argmax())
    return groups


def _votes(before_mm: FloatArray, after_mm: FloatArray, near: IntArray) -> BoolArray:
    return _agreeing(before_mm, after_mm, fit_rigid(before_mm[near], after_mm[near]))


def _core(before_mm: FloatArray, after_mm: FloatArray, kept: BoolArray) -> BoolArray:
    """Return those of the agreeing points that agree best: the outer ones already take less than the whole motion."""
    for _ in range(CORE_ROUNDS):
        motion = fit_rigid(before_mm[kept], after_mm[kept])
        way_mm = row_norms(after_mm - before_mm)
        short = row_norms(motion.apply(before_mm) - after_mm) / way_mm
        core = kept & (short <= np.quantile(short[kept], CORE_SHARE))
        if core.sum() < LEAST_CORE:
            break
        kept = core
    return kept


def _agreeing(before_mm: FloatArray, after_mm: FloatArray, motion: RigidMotion) -> BoolArray:
    way_mm = row_norms(after_mm - before_mm)
    left_mm = row_norms(motion.apply(before_mm) - after_mm)
    return np.asarray(left_mm <= ALLOWED_SHARE * way_mm + ALLOWED_MM)
