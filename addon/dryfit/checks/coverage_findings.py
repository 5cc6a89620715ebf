"""What is said about teeth that show."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..model.brief import Brief
from ..model.finding import Finding, Severity
from ..model.limits import Limits
from ..model.snapshot import Role
from .coverage_display import Display
from .display_norms import STUDY, age_that_shows
from .exposure import Exposure
from .fitting import Fitting
from .views import ViewPoint

CENTRAL = ("tooth_11", "tooth_21", "tooth_31", "tooth_41")
"""Short names of the central incisors, the teeth that studies of display measure."""


def coverage_findings(
    fitting: Fitting, brief: Brief, design: Display, bare: Display, views: Sequence[ViewPoint]
) -> list[Finding]:
    """Return one finding for each tooth that shows more than it should, the tallest first."""
    found = []
    for row, own in zip(design.rows, bare.rows, strict=True):
        for tooth in range(len(row.teeth.names)):
            if row.height_mm[:, tooth].max() > brief.limits.tooth_display_review_mm:
                found.append(_finding(fitting, brief, design, row, own, tooth, views))
    return sorted(found, key=lambda finding: (-finding.value, finding.message))


def _finding(
    fitting: Fitting,
    brief: Brief,
    design: Display,
    row: Exposure,
    own: Exposure,
    tooth: int,
    views: Sequence[ViewPoint],
) -> Finding:
    limits, teeth = brief.limits, row.teeth
    view = int(row.height_mm[:, tooth].argmax())
    height_mm, bare_mm = float(row.height_mm[view, tooth]), float(own.height_mm[view, tooth])
    failed = height_mm > limits.tooth_display_mm
    limit_mm = limits.tooth_display_mm if failed else limits.tooth_display_review_mm
    name = teeth.names[tooth]
    seen = row.seen[view] & (teeth.tooth == tooth)
    place = teeth.points_mm[seen].mean(axis=0)
    over_mm = height_mm - limits.tooth_display_review_mm
    lip = "lengthen the upper lip" if teeth.part.role == Role.UPPER_TEETH else "raise the lower lip"
    faces = np.asarray(fitting.surface(teeth.part).oriented_faces)[np.unique(teeth.samples.face[seen])]
    return Finding(
        severity=Severity.FAIL if failed else Severity.REVIEW,
        message=(
            f"The {name} shows {height_mm:.1f} mm at rest, seen from {views[view].words} (limit {limit_mm:.1f} mm, "
            f"{_source('tooth_display_mm' if failed else 'tooth_display_review_mm')}); past the bare base's lips it "
            f"would show {bare_mm:.1f} mm{norm_words(row, tooth, views)}."
        ).replace("The '", "'"),
        object=teeth.part.name,
        at_mm=(float(place[0]), float(place[1]), float(place[2])),
        region=fitting.regions.name(place),
        value=height_mm,
        limit=limit_mm,
        unit="mm",
        fix=f"{lip} by {over_mm:.1f} mm or shorten the {name} by {over_mm:.1f} mm",
        remedy="extend",
        remedy_mm=over_mm,
        elements=np.unique(faces),
        motion=design.pose.motion,
        t=design.pose.t,
    )


def front_mm(row: Exposure, tooth: int, views: Sequence[ViewPoint]) -> float | None:
    """Return a central incisor's display from the front, mm; None for another tooth or where no view is the front."""
    front = next((place for place, view in enumerate(views) if view.name == "0"), None)
    if front is None or row.teeth.labels[tooth] not in CENTRAL:
        return None
    return float(row.height_mm[front, tooth])


def norm_words(row: Exposure, tooth: int, views: Sequence[ViewPoint]) -> str:
    """Return at what age people show as much of a central incisor, as the end of a sentence, or ``""``."""
    shown_mm = front_mm(row, tooth, views)
    if shown_mm is None:
        return ""
    age = age_that_shows(shown_mm, row.teeth.part.role == Role.UPPER_TEETH)
    if age == "no age group":
        return f"; no age group shows as much on average ({STUDY})"
    return f"; people of {age} show about as much from the front on average ({STUDY})"


def _source(limit_name: str) -> str:
    return str(Limits.__dataclass_fields__[limit_name].metadata["source"])
