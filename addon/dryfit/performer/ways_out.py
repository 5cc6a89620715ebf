"""Straight ways out of an opening of the head, and what worn things leave of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..geometry import Surface
from ..model.arrays import FloatArray
from ..model.kept_answers import KeptAnswers, answered


@dataclass(frozen=True)
class WaysOut:
    """What is left of the ways out of one opening, weighted by the cosine to its outward direction.

    Attributes
    ----------
    open_fraction
        Share that nothing worn blocks near by, of those the bare head leaves free; nan where it leaves none.
    blocked
        For each worn surface, the share that it blocks first, ``(w,)``.
    way_out
        Share that meets nothing worn at any distance; nan where the bare head leaves none.
    enclosed
        For each worn surface, the share that it ends, at whatever distance, ``(w,)``.
    """

    open_fraction: float
    blocked: FloatArray
    way_out: float
    enclosed: FloatArray


def ways_out(
    points_mm: FloatArray,
    along: FloatArray,
    outward: FloatArray,
    base: Surface,
    worn: list[Surface],
    reach_mm: float,
    kept: KeptAnswers | None = None,
) -> WaysOut:
    """Follow rays out of an opening, first past the bare head, then past what is worn.

    Parameters
    ----------
    points_mm
        Where the rays start, ``(k, 3)``.
    along
        Directions that each point sends a ray in, unit, ``(d, 3)``; those that do not lead outward are left out.
    outward
        Which way the opening looks, unit, ``(3,)``.
    base, worn
        The bare head, and what is worn.
    reach_mm
        What stands further off than this does not count as near.
    kept
        Answers kept from other designs; None keeps none.
    """
    start, along = answered(kept, _free, points_mm, along, outward, base, reach_mm)
    weight = along @ outward
    if not weight.sum() > 0.0:
        return WaysOut(float("nan"), np.zeros(len(worn)), float("nan"), np.zeros(len(worn)))
    distance = [answered(kept, _until_mm, surface, start, along) for surface in worn]
    if not distance:
        return WaysOut(1.0, np.zeros(0), 1.0, np.zeros(0))
    first, nearest = np.argmin(distance, axis=0), np.min(distance, axis=0)
    blocked, enclosed = (
        np.array([weight[reached & (first == number)].sum() for number in range(len(worn))]) / weight.sum()
        for reached in (nearest <= reach_mm, np.isfinite(nearest))
    )
    return WaysOut(float(1.0 - blocked.sum()), blocked, float(1.0 - enclosed.sum()), enclosed)


def _free(
    points_mm: FloatArray, along: FloatArray, outward: FloatArray, base: Surface, reach_mm: float
) -> tuple[FloatArray, FloatArray]:
    """Return the ways that the bare head leaves free: where each starts and its direction, ``(f, 3)`` each."""
    along = along[along @ outward > 0.0]
    start, along = np.repeat(points_mm, len(along), axis=0), np.tile(along, (len(points_mm), 1))
    free = ~base.blocked(start, along, reach_mm)
    return start[free], along[free]


def _until_mm(worn: Surface, start: FloatArray, along: FloatArray) -> FloatArray:
    """Return how far each way goes until it meets something worn, ``(f,)``, mm; inf for never."""
    return np.asarray(worn.first_hit(start, along).distance_mm)
