"""Are the ears free: how much of what comes straight to each ear from its side is left."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ...geometry import Surface
from ...geometry.sphere_directions import even_directions
from ...model.arrays import FloatArray
from ...model.finding import Finding, Severity
from ...model.kept_answers import KeptAnswers
from ...model.limits import Limits
from ...model.snapshot import Part
from ...performer.eyes import SIDES
from ...performer.fitting import Fitting
from ...performer.head_frame import HeadFrame
from ...performer.ways_out import ways_out

LIFT_MM = 2.0
"""The ray starts this far out from the tragion, so that the skin about it is not in its own way."""
REACH_MM = 50.0
"""What stands further off an ear than this, sound finds its way round."""
DIRECTIONS = 4000


@dataclass(frozen=True)
class Ear:
    """One ear.

    Attributes
    ----------
    side
        ``left`` or ``right``, the performer's.
    at_mm
        Its tragion, ``(3,)``.
    open_fraction
        Share of the ways to it that nothing worn blocks, of those the bare head leaves, weighted by the cosine to the
        side; nan where the bare head leaves none.
    blocked
        Share of them that each worn surface blocks first, ``(w,)``.
    """

    side: str
    at_mm: FloatArray
    open_fraction: float
    blocked: FloatArray


def ears(fitting: Fitting, worn: list[Surface]) -> tuple[list[Ear], str]:
    """Return the ears whose tragions are known, and which landmarks the rest would need; ``""`` for none."""
    frame, marks = HeadFrame.from_landmarks(fitting.snapshot.landmarks), fitting.snapshot.landmarks
    found, missing = [], []
    for side, outward in zip(SIDES, (frame.left, -frame.left), strict=True):
        if f"tragion_{side}" in marks:
            found.append(ear(side, marks[f"tragion_{side}"], outward, fitting.base_surface, worn, fitting.kept))
        else:
            missing.append(f"tragion_{side}")
    return found, f"The ears were not measured: add the landmarks {', '.join(missing)}." if missing else ""


def ear(
    side: str,
    at_mm: FloatArray,
    outward: FloatArray,
    base: Surface,
    worn: list[Surface],
    kept: KeptAnswers | None = None,
) -> Ear:
    """Return the ear of one side at its tragion ``(3,)``, mm, which looks ``outward``, past what is worn.

    ``kept`` has what other designs were answered; None keeps none.
    """
    start = (at_mm + LIFT_MM * outward)[None]
    left = ways_out(start, even_directions(DIRECTIONS), outward, base, worn, REACH_MM, kept)
    return Ear(side, at_mm, left.open_fraction, left.blocked)


def ear_measures(found: list[Ear]) -> dict[str, float | str]:
    """Return what is left of each ear; nan where its tragion is not known."""
    by_side = {ear.side: ear.open_fraction for ear in found}
    return {f"ear_open_fraction_{side}": by_side.get(side, float("nan")) for side in SIDES}


def ear_findings(found: list[Ear], worn: tuple[Part, ...], fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Yield the ears that are covered so far that cues are missed."""
    for ear in found:
        if ear.open_fraction < limits.ear_open_review:
            part = worn[int(ear.blocked.argmax())]
            yield Finding(
                severity=Severity.REVIEW,
                message=(
                    f"{part.name} covers the {ear.side} ear: {100 * ear.open_fraction:.0f} % of what comes straight to "
                    f"it is left (limit {100 * limits.ear_open_review:g} %). Cues and warnings are heard late or not."
                ),
                place=fitting.place(part.name, ear.at_mm, f"{ear.side} ear"),
                value=ear.open_fraction,
                limit=limits.ear_open_review,
                unit="of the bare opening",
                fix=f"open {part.name} over the {ear.side} ear, or agree on signs that are seen or felt",
            )
