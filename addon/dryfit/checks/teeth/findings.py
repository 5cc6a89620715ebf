"""What is said about teeth that show more than they should."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...model.brief import Brief
from ...model.finding import Finding, Severity
from ...model.limits import Limits
from ...model.snapshot import Role
from ...performer.fitting import Fitting
from ...performer.tooth_names import the
from .display import Look
from .exposure import Exposure
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


def coverage_findings(fitting: Fitting, brief: Brief, look: Look) -> list[Finding]:
    """Return one finding for each tooth that shows more than it should, the tallest first."""
    found = []
    for row, own in zip(look.design.rows, look.bare.rows, strict=True):
        least_mm = min(fail_above(brief).height_mm, review_above(brief, _is_upper(row)).height_mm)
        for tooth in np.flatnonzero(row.height_mm.max(axis=0) > least_mm):
            found.append(_finding(fitting, brief, look, row, own, int(tooth)))
    return sorted(found, key=lambda finding: (-finding.value, finding.message))


def _is_upper(row: Exposure) -> bool:
    return row.teeth.part.role == Role.UPPER_TEETH


def _finding(fitting: Fitting, brief: Brief, look: Look, row: Exposure, own: Exposure, tooth: int) -> Finding:
    teeth, name = row.teeth, row.teeth.names[tooth]
    view = int(row.height_mm[:, tooth].argmax())
    height_mm, bare_mm = float(row.height_mm[view, tooth]), float(own.height_mm[view, tooth])
    review, most = review_above(brief, _is_upper(row)), fail_above(brief)
    failed = height_mm > most.height_mm
    allowed = most if failed else review
    over_mm = height_mm - min(review.height_mm, most.height_mm)
    seen = row.seen[view] & (teeth.tooth == tooth)
    lip = "lengthen the upper lip" if _is_upper(row) else "raise the lower lip"
    return Finding(
        severity=Severity.FAIL if failed else Severity.REVIEW,
        message=(
            f"{the(name, 'The')} shows {height_mm:.1f} mm {look.pose.words}, seen from {look.views[view].words} (limit "
            f"{allowed.height_mm:.1f} mm: {allowed.meaning}); past the bare base's lips it would show {bare_mm:.1f} mm."
        ),
        place=fitting.place(
            teeth.part.name,
            teeth.points_mm[seen].mean(axis=0),
            name if teeth.labels[tooth] else None,
            motion=look.pose.motion,
            t=look.pose.t,
        ),
        value=height_mm,
        limit=allowed.height_mm,
        fix=f"{lip} by {over_mm:.1f} mm or shorten {the(name)} by {over_mm:.1f} mm",
        remedy="extend",
        remedy_mm=over_mm,
        elements=np.unique(teeth.faces[np.unique(teeth.samples.face[seen])]),
    )


def _meaning(limit_name: str) -> str:
    return str(Limits.__dataclass_fields__[limit_name].metadata["reason"])
