"""Can these rows of teeth say anything about a mouth: do they lie in it, are they teeth at all, and are both there?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...geometry.rows import extents, row_norms
from ...model.arrays import FloatArray
from ...model.finding import Finding, Severity
from ...model.snapshot import Part, Role
from ..fitting import Fitting

REACH_MM = 55.0
"""No tooth of an adult is further from the middle of the lips: the Bonwill arm of 103.3 mm ends at the condyle, and
second molars stand at about half of it (CBCT study, n = 120, PubMed 26734666; the share from memory)."""
LEAST_MM = 2.0
"""No tooth is smaller: the smallest crown, a lower incisor's, is 5 mm wide and 9 mm tall (dental textbook table)."""
MIDDLE = ("stomion_superius", "stomion_inferius")


@dataclass(frozen=True)
class OddTeeth:
    """Teeth that say nothing about the mouth.

    Attributes
    ----------
    part
        The row.
    message, fix
        What is odd, with figures, and what to do.
    at_mm
        A point of it ``(3,)``.
    value_mm, limit_mm
        The figure and what it was held against.
    """

    part: Part
    message: str
    fix: str
    at_mm: FloatArray
    value_mm: float
    limit_mm: float


def odd_teeth(fitting: Fitting) -> Iterator[OddTeeth]:
    """Yield rows of teeth that lie out of the mouth or are too small for teeth; without lips' landmarks, the latter."""
    marks = fitting.snapshot.landmarks
    for part in fitting.snapshot.with_role(Role.UPPER_TEETH, Role.LOWER_TEETH):
        points = part.vertices_mm[np.unique(part.faces)]
        extent_mm = float(extents(points).max())
        if extent_mm < LEAST_MM:
            message = f"'{part.name}' is {extent_mm:.2f} mm large, smaller than any tooth ({LEAST_MM:g} mm)"
            yield OddTeeth(part, message, "check its scale", points[0], extent_mm, LEAST_MM)
        elif all(name in marks for name in MIDDLE):
            yield from _away(part, points, 0.5 * (marks[MIDDLE[0]] + marks[MIDDLE[1]]))


def odd_findings(fitting: Fitting) -> tuple[Finding, ...]:
    """Return a finding for each such row: what was measured with it is to be looked at, whatever came of it."""
    return tuple(
        Finding(
            Severity.REVIEW,
            f"{odd.message}: what it meets, covers and shows says nothing.",
            fitting.place(odd.part.name, odd.at_mm),
            odd.value_mm,
            limit=odd.limit_mm,
            fix=odd.fix,
        )
        for odd in odd_teeth(fitting)
    )


def _away(part: Part, points: FloatArray, middle_mm: FloatArray) -> Iterator[OddTeeth]:
    far_mm = row_norms(points - middle_mm)
    nearest = int(far_mm.argmin())
    if far_mm[nearest] > REACH_MM:
        message = (
            f"'{part.name}' lies out of the mouth: nothing of it is within {REACH_MM:g} mm of the middle of the lips, "
            f"the nearest {far_mm[nearest]:.0f} mm off"
        )
        fix = f"move '{part.name}' into the mouth, or set its role to 'ignore'"
        yield OddTeeth(part, message, fix, points[nearest], float(far_mm[nearest]), REACH_MM)


def row_alone(fitting: Fitting) -> tuple[Part, str] | None:
    """Return the design's one row of teeth and the name of the missing one; None where both or none are there."""
    rows = {role: fitting.snapshot.with_role(role) for role in (Role.UPPER_TEETH, Role.LOWER_TEETH)}
    there = [role for role, parts in rows.items() if parts]
    if len(there) != 1 or all(part.own for part in rows[there[0]]):
        return None
    missing = "lower" if there[0] == Role.UPPER_TEETH else "upper"
    return next(part for part in rows[there[0]] if not part.own), missing
