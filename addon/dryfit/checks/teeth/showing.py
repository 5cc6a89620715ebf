"""What of the teeth shows where the jaw gets to, beside what shows with it closed, and how much of each may."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...model.brief import Brief
from ...model.finding import Bound
from ...model.limits import ENTRIES
from ...model.snapshot import Role
from ...performer.closing import ClosedMouth
from ...performer.fitting import Fitting
from .display import Look
from .exposure import SPACING_MM, Exposure
from .norms import norm_at


@dataclass(frozen=True)
class Allowed:
    """A height of tooth that may show, mm, and what it stands for, in words; ``explain`` names the sources."""

    height_mm: float
    meaning: str


def review_above(brief: Brief, upper: bool) -> Allowed:
    """Return what may show before it is to be looked at: by the performer's age where the brief states it."""
    limits, age_years = brief.limits, brief.performer.age_years
    if age_years is None:
        return Allowed(limits.tooth_display_review_mm, _meaning("tooth_display_review_mm"))
    norm, scatter_mm = norm_at(age_years), limits.tooth_display_scatter_mm
    words = f"a mean of {norm.mean_mm(upper):.1f} mm at the age of {norm.ages} and a scatter of {scatter_mm:.1f} mm"
    return Allowed(max(norm.mean_mm(upper) + scatter_mm, 0.0), words)


def fail_above(brief: Brief) -> Allowed:
    """Return what may show at any age."""
    return Allowed(brief.limits.tooth_display_mm, _meaning("tooth_display_mm"))


def _meaning(limit_name: str) -> str:
    metadata = ENTRIES[limit_name].metadata
    return f"{metadata['reason']}; {metadata['basis']}"


@dataclass(frozen=True)
class ShownTooth:
    """One tooth.

    Attributes
    ----------
    row, closed
        What of its row shows where the jaw gets to, and with it closed.
    bare, bare_closed
        The same past the bare base's lips.
    number
        Its place in the row.
    review, most
        What may show of it before it is to be looked at, and before it fails.
    """

    row: Exposure
    closed: Exposure
    bare: Exposure
    bare_closed: Exposure
    number: int
    review: Allowed
    most: Allowed

    @property
    def view(self) -> int:
        """The view from which most of it shows."""
        return int(self.row.height_mm[:, self.number].argmax())

    @property
    def height_mm(self) -> float:
        """How much of it shows, from that view."""
        return float(self.row.height_mm[self.view, self.number])

    @property
    def closed_mm(self) -> float:
        """How much of it would show with the jaw closed, from the worst view."""
        return float(self.closed.height_mm[:, self.number].max())

    @property
    def bare_mm(self) -> float:
        """How much of it would show past the bare base's lips in the same pose, from the same view."""
        return float(self.bare.height_mm[self.view, self.number])

    @property
    def is_upper(self) -> bool:
        """Whether it is an upper tooth."""
        return self.row.teeth.part.role == Role.UPPER_TEETH

    @property
    def own_mm(self) -> float:
        """What an own tooth shows on the bare, closed face, and as much as reading it may be off; else 0."""
        if not self.row.teeth.part.own:
            return 0.0
        return float(self.bare_closed.height_mm[:, self.number].max()) + SPACING_MM

    @property
    def least_mm(self) -> float:
        """The height from which on it is worth a word."""
        return max(min(self.review.height_mm, self.most.height_mm), self.own_mm)

    @property
    def shows_by_itself(self) -> bool:
        """Whether it is the performer's own and shows more than it should without the design."""
        return self.own_mm - SPACING_MM > min(self.review.height_mm, self.most.height_mm)

    @property
    def allowed(self) -> Allowed:
        """What it is held against."""
        chosen = self.most if self.height_mm > self.most.height_mm else self.review
        if self.own_mm > chosen.height_mm:
            return Allowed(self.own_mm, "what the own tooth shows on the bare, closed face")
        return chosen


@dataclass(frozen=True)
class Showing:
    """Everything that was seen of the teeth, for findings.

    Attributes
    ----------
    fitting, brief
        The design.
    look, shut
        What shows where the jaw gets to, and with it closed.
    closed
        How the mouth closes; None where that is not known.
    """

    fitting: Fitting
    brief: Brief
    look: Look
    shut: Look
    closed: ClosedMouth | None

    @property
    def stopped(self) -> bool:
        """Whether something stops the jaw before it is closed."""
        return self.closed is not None and self.closed.blocked

    def teeth(self) -> Iterator[ShownTooth]:
        """Yield every tooth."""
        looks = (self.look.design, self.shut.design, self.look.bare, self.shut.bare)
        most = fail_above(self.brief)
        for row, closed, bare, bare_closed in zip(*(look.rows for look in looks), strict=True):
            review = review_above(self.brief, row.teeth.part.role == Role.UPPER_TEETH)
            for number in range(row.height_mm.shape[1]):
                yield ShownTooth(row, closed, bare, bare_closed, number, review, most)

    @property
    def bound(self) -> Bound:
        """What the tallest display of any tooth is held against."""
        tallest = max(self.teeth(), key=lambda tooth: tooth.height_mm)
        most_mm = tallest.most.height_mm
        own = tallest.own_mm > most_mm
        return Bound(max(tallest.own_mm, most_mm), limit="" if own else "tooth_display_mm")


def seen_elements(tooth: ShownTooth) -> np.ndarray:
    """Return which samples of a tooth are seen from its worst view, ``(k,)``."""
    return np.asarray(tooth.row.seen[tooth.view] & (tooth.row.teeth.tooth == tooth.number))
