"""How far lips can go by themselves: with ease, with strain, or not at all."""

from __future__ import annotations

from enum import StrEnum

from ...model.finding import Severity
from ...model.limits import Limits


class LipReach(StrEnum):
    """What a gap asks of the lips once the jaw has done its part."""

    MEET = "meet"
    EASY = "easy"
    STRAIN = "strain"
    OUT_OF_REACH = "out of reach"


SEVERITIES = {
    LipReach.MEET: Severity.INFO,
    LipReach.EASY: Severity.INFO,
    LipReach.STRAIN: Severity.REVIEW,
    LipReach.OUT_OF_REACH: Severity.FAIL,
}


def easy_mm(limits: Limits) -> float:
    """Return the gap up to which lips meet with ease, mm."""
    return min(limits.lip_gap_review_mm, farthest_mm(limits))


def farthest_mm(limits: Limits) -> float:
    """Return the gap beyond which the lips do not reach, mm: the performer's own where it is stated."""
    return limits.lip_reach_mm or limits.lip_gap_mm


def reach_of(gap_mm: float, sealed: bool, limits: Limits) -> LipReach:
    """Return what a gap asks of the lips.

    Lips that rest up to 3 mm apart are competent, over 3-4 mm they close only with strain (Proffit, Contemporary
    Orthodontics, from memory). How far strain goes is the performer's own; ``farthest_mm`` ends it.
    """
    if sealed:
        return LipReach.MEET
    if gap_mm > farthest_mm(limits):
        return LipReach.OUT_OF_REACH
    return LipReach.STRAIN if gap_mm > easy_mm(limits) else LipReach.EASY
