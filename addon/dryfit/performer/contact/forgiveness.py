"""What two bodies are forgiven before they count as in each other's way: one answer for whoever asks."""

from __future__ import annotations

from dataclasses import dataclass

from ...model.limits import Limits
from ..fitting import Fitting
from ..motion.base_motion import JAW
from .pairs import Give, Pair

LIMIT_NAMES = {
    Give.HARD: ("overlap_hard_review_mm", "overlap_hard_mm"),
    Give.FLESH: ("overlap_flesh_review_mm", "overlap_flesh_mm"),
    Give.SOFT: ("overlap_soft_review_mm", "overlap_soft_mm"),
    Give.LIP: ("lip_yield_mm", "overlap_flesh_mm"),
}


@dataclass(frozen=True)
class Forgiveness:
    """How deep bodies may be in each other.

    Attributes
    ----------
    limits
        The brief's.
    lips_travel_mm
        What lips move out of the way by themselves before they are pressed. On a face sculpted with an open mouth the
        lips stand where the open jaw drags them; on a shut one it is nothing.
    """

    limits: Limits
    lips_travel_mm: float = 0.0

    @classmethod
    def of(cls, fitting: Fitting) -> Forgiveness:
        """Return what holds for a fitting."""
        limits = fitting.brief.limits
        opened = JAW in fitting.motion_names and fitting.poses(JAW).source.rest_t > 0.0
        return cls(limits, limits.lip_gap_review_mm if opened else 0.0)

    def review_mm(self, pair: Pair) -> float:
        """Return how deep a pair may be in each other: up to here it only touches, grazes or gives way."""
        stated: float = getattr(self.limits, LIMIT_NAMES[pair.give][0])
        return stated + (self.lips_travel_mm if pair.give == Give.LIP else 0.0)

    def fail_mm(self, pair: Pair) -> float:
        """Return from which depth on a pair cannot stay as it is."""
        stated: float = getattr(self.limits, LIMIT_NAMES[pair.give][1])
        return max(stated, self.review_mm(pair))
