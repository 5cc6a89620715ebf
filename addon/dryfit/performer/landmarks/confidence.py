"""How far a proposed landmark may be off, in millimetres and in a word."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

USUAL_MM = {
    "labiale_superius": 1.3, "labiale_inferius": 2.7, "stomion_superius": 1.9, "stomion_inferius": 1.4,
    "subnasale": 1.1, "pronasale": 1.5, "gnathion": 2.5, "sellion": 1.2, "vertex_top": 6.0, "opisthocranion": 5.0,
    "tragion": 2.0, "cheilion": 2.5, "endocanthion": 2.0, "exocanthion": 2.5, "alare": 2.0, "pupil": 3.0,
}  # fmt: skip
"""Usual error on seven heads of other ages, sexes and ancestries, landmark by landmark; measured by its tests."""
SURE_MM, LIKELY_MM = 2.5, 5.0
SIDES_MM = 2.5
"""Left and right of a real face differ by about this much."""


class Word(StrEnum):
    """What to do with a proposed point."""

    SURE = "sure"
    LIKELY = "likely"
    LOOK = "look at it"


@dataclass(frozen=True)
class Confidence:
    """What speaks for and against one proposed point, all mm, 0 or more.

    Attributes
    ----------
    usual_mm
        How far this landmark usually is off.
    gap_mm
        How far the bent template stays off the scan around it.
    spread_mm
        How far a second fit, from another start and stiffer, puts it elsewhere.
    sides_mm
        How far its opposite, mirrored, is from it; off the middle plane for a point of the middle.
    shape_mm
        How far the scan's own tip or hollow is from where the template puts it; 0 where there is none to look for.
    """

    usual_mm: float
    gap_mm: float
    spread_mm: float
    sides_mm: float
    shape_mm: float

    @property
    def expected_mm(self) -> float:
        """The error to reckon with, mm."""
        uneven_mm = max(self.sides_mm - SIDES_MM, 0.0)
        parts = (self.usual_mm, self.gap_mm, self.spread_mm, 0.5 * uneven_mm, 0.5 * self.shape_mm)
        return float(np.sqrt(np.square(parts).sum()))

    @property
    def number(self) -> float:
        """From 1 (as good as the eye) down to 0: one half where the expected error is ``LIKELY_MM``."""
        return float(0.5 ** (self.expected_mm / LIKELY_MM))

    @property
    def word(self) -> Word:
        """The number in words."""
        if self.expected_mm <= SURE_MM:
            return Word.SURE
        return Word.LIKELY if self.expected_mm <= LIKELY_MM else Word.LOOK


def usual_mm(name: str) -> float:
    """Return how far the named landmark is usually off, mm."""
    return USUAL_MM[name.removesuffix("_left").removesuffix("_right")]
