"""How much of the front teeth people show with their lips at rest, by age."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class AgeGroup:
    """One group of a study.

    Attributes
    ----------
    words
        For sentences: "under 30".
    upper_mm, lower_mm
        Mean height of the upper and of the lower central incisor that shows at rest, mm; below zero the lip hangs
        past the edge.
    """

    words: str
    upper_mm: float
    lower_mm: float


STUDY = "Vig & Brundo 1978, J Prosthet Dent 39:502-504 (from memory)"
AGE_GROUPS = (
    AgeGroup("under 30", 3.37, 0.51),
    AgeGroup("30 to 39", 1.58, 0.80),
    AgeGroup("40 to 49", 0.95, 1.96),
    AgeGroup("50 to 59", 0.46, 2.44),
    AgeGroup("60 and over", -0.04, 2.95),
)
"""With age the upper incisors sink behind the lip and the lower ones come up; the lips sag over both."""
BEYOND_MM = 1.0
"""A display that no group comes nearer to than this is more than any of them shows."""


def age_that_shows(height_mm: float, upper: bool) -> str:
    """Return which age group shows a height of central incisor on average, in words: "30 to 39", or "no age group".

    Parameters
    ----------
    height_mm
        Display height at rest, seen from the front, mm.
    upper
        Whether it is the upper incisor.
    """

    def off_mm(group: AgeGroup) -> float:
        return abs(height_mm - (group.upper_mm if upper else group.lower_mm))

    nearest = min(AGE_GROUPS, key=off_mm)
    most_mm = max(group.upper_mm if upper else group.lower_mm for group in AGE_GROUPS)
    return "no age group" if height_mm > most_mm + BEYOND_MM else nearest.words
