"""Growing a skin outward: the height at which each place first enters a region, and at which a share is used up."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..model.arrays import BoolArray, FloatArray, IntArray
from .skin import REACH_MM, Ground

Within = Callable[[FloatArray, IntArray], BoolArray]
"""(points ``(k, 3)``, the vertices they grow from ``(k,)``) -> which of them lie in a region, ``(k,)``."""
HALVINGS = 12
SHARE_HALVINGS = 9
SCALE_HALVINGS = 6


def steps_mm() -> FloatArray:
    """Return the heights that are tried in turn: finer near the skin, up to two millimetres apart beyond."""
    return np.concatenate(
        [
            np.arange(0.0, 4.0, 0.25),
            np.arange(4.0, 12.0, 0.5),
            np.arange(12.0, 30.0, 1.0),
            np.arange(30.0, REACH_MM + 1.0, 2.0),
        ]
    )


def first_entry_mm(skin: Ground, among: IntArray, within: Within) -> FloatArray:
    """Return the height ``(k,)`` at which each of some vertices ``(k,)`` first enters a region; inf where none does.

    A region thinner along a line than the step may be missed.
    """
    height, below = np.full(len(among), np.inf), np.zeros(len(among))
    waiting = np.arange(len(among))
    for step in steps_mm():
        if not len(waiting):
            break
        entered = within(_at(skin, among[waiting], np.full(len(waiting), step)), among[waiting])
        height[waiting[entered]] = step
        waiting = waiting[~entered]
        below[waiting] = step
    return _refined(skin, among, within, below, height)


def _refined(skin: Ground, among: IntArray, within: Within, below: FloatArray, above: FloatArray) -> FloatArray:
    found = np.flatnonzero(np.isfinite(above) & (above > 0.0))
    low, high = below[found].copy(), above[found].copy()
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        entered = within(_at(skin, among[found], middle), among[found])
        high, low = np.where(entered, middle, high), np.where(entered, low, middle)
    height = above.copy()
    height[found] = low
    return height


def _at(skin: Ground, vertices: IntArray, height_mm: FloatArray) -> FloatArray:
    return np.asarray(skin.points_mm[vertices] + height_mm[:, None] * skin.outward[vertices])


def even_height_mm(allowed: Callable[[float], bool]) -> float:
    """Return the greatest even height that a check still allows, mm; inf where it allows everything within reach.

    Parameters
    ----------
    allowed
        Whether a skin grown everywhere by a height passes.
    """
    if allowed(REACH_MM):
        return float("inf")
    low, high = 0.0, REACH_MM
    for step in (0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0):
        if not allowed(step):
            high = step
            break
        low = step
    for _ in range(SHARE_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if allowed(middle) else (low, middle)
    return low


def passing_mm(skin: Ground, height_mm: FloatArray, allowed: Callable[[FloatArray], bool]) -> FloatArray:
    """Return heights ``(n,)`` scaled down, all alike, until a skin that stands everywhere at them passes.

    What is looked up at single places may miss what lies between them; the check itself has the last word.

    Parameters
    ----------
    skin, height_mm
        The skin, and heights on it; inf where nothing stops.
    allowed
        Whether a skin at heights ``(n,)`` passes.
    """
    height = skin.least_around(height_mm)
    standing = np.where(skin.sculpted & np.isfinite(height), height, 0.0)
    if allowed(standing):
        return height_mm
    low, high = 0.0, 1.0
    for _ in range(SCALE_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if allowed(middle * standing) else (low, middle)
    return height_mm * max(low, 1e-9)
