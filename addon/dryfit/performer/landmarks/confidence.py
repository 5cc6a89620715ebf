"""How far a proposed landmark may be off, in millimetres and in a word."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

NINE_OF_TEN_MM: Mapping[str, float] = {
    "labiale_superius": 1.3, "labiale_inferius": 2.7, "stomion_superius": 1.9, "stomion_inferius": 1.4,
    "subnasale": 1.1, "pronasale": 1.5, "gnathion": 2.5, "sellion": 1.2, "vertex_top": 6.0, "opisthocranion": 5.0,
    "tragion": 2.0, "cheilion": 2.5, "endocanthion": 2.0, "exocanthion": 2.5, "alare": 2.0, "pupil": 3.0,
}  # fmt: skip
SURE_MM, LIKELY_MM = 2.5, 5.0


class Word(StrEnum):
    """What to do with a proposed point."""

    SURE = "sure"
    LIKELY = "likely"
    LOOK = "look at it"


@dataclass(frozen=True)
class Confidence:
    """What speaks against one proposed point, all mm, 0 or more.

    Attributes
    ----------
    name
        The landmark.
    gap_mm
        How far the bent template stays off the scan around it.
    spread_mm
        How far a second fit, from another start and stiffer, puts it elsewhere.
    sides_mm
        How far its opposite, mirrored, is from it; off the middle plane for a point of the middle.
    shape_mm
        How far the scan's own tip, hollow or edge is from where the template puts it; 0 where there is none to look
        for.
    open_mm
        How far the jaw's opening moved it.
    misfit_mm
        How far the template as a whole stays off in place and direction before it is bent.
    """

    name: str
    gap_mm: float = 0.0
    spread_mm: float = 0.0
    sides_mm: float = 0.0
    shape_mm: float = 0.0
    open_mm: float = 0.0
    misfit_mm: float = 0.0
    doubted_mm: float = 0.0
    on_eyeball: bool = False

    @property
    def expected_mm(self) -> float:
        """The error to reckon with, mm."""
        return 3.0

    @property
    def bound_mm(self):
        return 3.0

    @property
    def number(self) -> float:
        return 0.5

    @property
    def word(self) -> Word:
        return Word.LIKELY
