"""What of the teeth shows where the jaw gets to, beside what shows with it closed, and how much of each may."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from ...model.brief import Brief
from ...model.finding import Bound
from ...model.limits import ENTRIES
from ...model.snapshot import Role
from ...performer.closing import ClosedMouth
from ...performer.fitting import Fitting
from .display import Look
from .exposure import SPACING_MM, Exposure
from .norms import CENTRAL_INCISOR, norm_for


@dataclass(frozen=True)
class Allowed:
    """A height of tooth that may show, mm, and what it stands for, in words; ``explain`` names the sources."""

    height_mm: float
    meaning: str


@dataclass(frozen=True)
class HeldAgainst:
    """What a tooth is held against from one view: what may show before it is to be looked at, and before it fails."""

    view: int
    review: Allowed
    most: Allowed


def anywhere(brief: Brief, view: int) -> HeldAgainst:
    """Return what any tooth is held against from the view that shows most of it."""
    limits = brief.limits
    return HeldAgainst(
        view,
        Allowed(limits.tooth_display_review_mm, _meaning("tooth_display_review_mm")),
        Allowed(limits.tooth_display_mm, _meaning("tooth_display_mm")),
    )


def by_norm(brief: Brief, front: int | None, label: str, upper: bool) -> Iterator[HeldAgainst]:
    """Yield what a tooth is held against by the performer's age: from the front, where it is one that was measured.

    A row without marked teeth is taken for its central incisors, which show most.
    """
    performer = brief.performer
    measured = label == "" or label[-1:] == str(CENTRAL_INCISOR)
    if front is None or performer.age_years is None or not measured:
        return
    norm = norm_for(performer.age_years, performer.sex, upper)
    if norm is None:
        return
    scatter_mm = brief.limits.tooth_display_scatter_mm if norm.scatter_mm is None else norm.scatter_mm
    seen = f"mean {norm.mean_mm:.1f} mm of {norm.people}"
    review = Allowed(norm.mean_mm + scatter_mm, f"{seen} and a scatter of {scatter_mm:.1f} mm")
    if norm.scatter_mm is None:
        yield HeldAgainst(front, review, Allowed(np.inf, "their own scatter was not seen"))
    else:
        yield HeldAgainst(
            front, review, Allowed(norm.mean_mm + 2.0 * scatter_mm, f"{seen} and twice {scatter_mm:.1f} mm")
        )


def _meaning(limit_name: str) -> str:
    metadata = ENTRIES[limit_name].metadata
    return f"{metadata['reason']}; {metadata['basis']}"


@dataclass(frozen=True)
class ShownTooth:
    """One tooth, held against one thing.

    Attributes
    ----------
    row, closed
        What of its row shows where the jaw gets to, and with it closed.
    bare, bare_closed
        The same past the bare base's lips.
    number
        Its place in the row.
    held
        What it is held against, from which view.
    meant
        Whether the brief says that it is meant to be seen, so that nothing is held against it.
    """

    row: Exposure
    closed: Exposure
    bare: Exposure
    bare_closed: Exposure
    number: int
    held: HeldAgainst
    meant: bool = False

    @property
    def view(self) -> int:
        """The view it is judged from."""
        return self.held.view

    @property
    def height_mm(self) -> float:
        """How much of it shows, from that view."""
        return float(self.row.height_mm[self.view, self.number])

    @property
    def tallest_mm(self) -> float:
        """How much of it shows from the worst view."""
        return float(self.row.height_mm[:, self.number].max())

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
    def usual_mm(self) -> float:
        """The height from which on a tooth is worth a word."""
        return min(self.held.review.height_mm, self.held.most.height_mm)

    @property
    def least_mm(self) -> float:
        """The same, an own tooth's own display taken for granted."""
        return max(self.usual_mm, self.own_mm)

    @property
    def over_mm(self) -> float:
        """How much more than that shows, from the view it is judged from."""
        return self.height_mm - self.least_mm

    @property
    def fails(self) -> bool:
        """Whether more shows than may."""
        return self.height_mm > max(self.held.most.height_mm, self.own_mm)

    @property
    def shows_by_itself(self) -> bool:
        """Whether it is the performer's own and shows more than it should without the design."""
        return self.own_mm - SPACING_MM > self.usual_mm

    @property
    def allowed(self) -> Allowed:
        """What it is held against."""
        chosen = self.held.most if self.height_mm > self.held.most.height_mm else self.held.review
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
        """Yield every tooth that is judged, held against what it exceeds most."""
        return (tooth for tooth in self.every_tooth() if not tooth.meant)

    def every_tooth(self) -> Iterator[ShownTooth]:
        """Yield every tooth, those that are meant to be seen among them."""
        looks = (self.look.design, self.shut.design, self.look.bare, self.shut.bare)
        for row, closed, bare, bare_closed in zip(*(look.rows for look in looks), strict=True):
            for number in range(row.height_mm.shape[1]):
                yield self._worst(ShownTooth(row, closed, bare, bare_closed, number, self._anywhere(row, number)))

    def _anywhere(self, row: Exposure, number: int) -> HeldAgainst:
        return anywhere(self.brief, int(row.height_mm[:, number].argmax()))

    def _worst(self, tooth: ShownTooth) -> ShownTooth:
        teeth, number = tooth.row.teeth, tooth.number
        norms = by_norm(self.brief, self.look.front, teeth.labels[number], tooth.is_upper)
        ways = [tooth, *(replace(tooth, held=held) for held in norms)]
        worst = max(ways, key=lambda way: (way.fails, way.over_mm))
        return replace(worst, meant=self.brief.teeth.says_shown(teeth.part.name, teeth.names[number]))

    @property
    def bound(self) -> Bound:
        """What the tallest display of any tooth is held against: nothing where that tooth is meant to be seen."""
        tallest = max(self.every_tooth(), key=lambda tooth: tooth.tallest_mm)
        if tallest.meant:
            return Bound(np.inf)
        most_mm = self.brief.limits.tooth_display_mm
        own = tallest.own_mm > most_mm
        return Bound(max(tallest.own_mm, most_mm), limit="" if own else "tooth_display_mm")


def seen_elements(tooth: ShownTooth) -> np.ndarray:
    """Return which samples of a tooth are seen from its worst view, ``(k,)``."""
    return np.asarray(tooth.row.seen[tooth.view] & (tooth.row.teeth.tooth == tooth.number))
