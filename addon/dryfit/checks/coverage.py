"""Do the lips cover the teeth? How much tooth shows with the jaw at rest, from every view."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ..geometry import Surface
from ..model.arrays import FloatArray
from ..model.brief import Brief
from ..model.finding import Field, Finding, Outcome, Severity, not_checked
from ..model.limits import Limits
from ..model.progress import Job, Progress
from ..model.snapshot import Part, Role
from .base_motion import JAW
from .check import Check
from .exposure import Exposure, ToothSamples, expose
from .fitting import Fitting
from .head_frame import HeadFrame
from .views import ViewPoint, missing_cameras, view_points

TEETH = (Role.UPPER_TEETH, Role.LOWER_TEETH)
WORN = (Role.APPLIANCE, Role.HARDWARE)
NO_TEETH = "there are no teeth: no object has the role 'upper_teeth' or 'lower_teeth'. Give the teeth their role."
NO_FRAME = (
    "left, front and up of this head are not known. Place a pair of landmarks (tragion_left and tragion_right, or the "
    "corners of the mouth or of the eyes) and an upright pair (sellion and gnathion, or subnasale and gnathion)."
)


@dataclass(frozen=True)
class Display:
    """What of the teeth shows past one set of occluders.

    Attributes
    ----------
    rows
        One exposure for each row of teeth.
    """

    rows: tuple[Exposure, ...]

    @property
    def area_mm2(self) -> FloatArray:
        """Seen area from each view, ``(v,)``, mm2."""
        return np.asarray(np.sum([row.area_mm2.sum(axis=1) for row in self.rows], axis=0))

    @property
    def height_mm(self) -> FloatArray:
        """Tallest display of any tooth from each view, ``(v,)``, mm."""
        return np.asarray(np.max([row.height_mm.max(axis=1) for row in self.rows], axis=0))

    @property
    def whole_mm2(self) -> float:
        """Area of all teeth, seen or not, mm2."""
        return float(sum(row.teeth.samples.area_mm2.sum() for row in self.rows))


def measure_coverage(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Look at the teeth from every view; the job of ``CHECK``."""
    snapshot = fitting.snapshot
    teeth = snapshot.with_role(*TEETH)
    frame = HeadFrame.from_landmarks(snapshot.landmarks)
    if not teeth:
        return not_checked(NO_TEETH)
    if frame.assumed:
        return not_checked(NO_FRAME)
    missing = missing_cameras(brief.views, snapshot)
    if missing:
        return not_checked(f"the brief names cameras the scene does not have: {', '.join(missing)}.")
    rows = tuple(_sampled(fitting, part) for part in teeth)
    views = view_points(brief.views, snapshot, frame, mouth_mm(fitting, rows))
    if not views:
        return not_checked("no view is given. Add angles_deg or cameras under [views] in the brief.")
    displays = []
    for number, worn in enumerate((True, False)):
        yield Progress(number, 2, "looking at the teeth" if worn else "looking at the teeth on the bare base")
        occluders = _occluders(fitting, teeth, worn)
        displays.append(Display(tuple(expose(row, views, occluders, frame.up) for row in rows)))
    design, bare = displays
    return Outcome(
        measures=measures(design, bare, views),
        findings=tuple(coverage_findings(fitting, brief, design, bare, views)),
        fields=tuple(_field(row, brief) for row in design.rows),
    )


def at_rest_mm(fitting: Fitting, part: Part) -> FloatArray:
    """Return a part's vertices ``(n, 3)``, mm, with the jaw closed; without a jaw motion, as they are."""
    if JAW in fitting.motion_names:
        return fitting.poses(JAW).vertices(part.name, 0.0)
    return part.vertices_mm


def mouth_mm(fitting: Fitting, rows: Sequence[ToothSamples]) -> FloatArray:
    """Return the point the views are turned about, ``(3,)``: between the lips, or the middle of the teeth."""
    marks = fitting.snapshot.landmarks
    if "stomion_superius" in marks and "stomion_inferius" in marks:
        return np.asarray(0.5 * (marks["stomion_superius"] + marks["stomion_inferius"]))
    return np.asarray(np.concatenate([row.points_mm for row in rows]).mean(axis=0))


def _sampled(fitting: Fitting, part: Part) -> ToothSamples:
    faces = np.asarray(fitting.surface(part).oriented_faces, dtype=np.int64)
    return ToothSamples.on(part, at_rest_mm(fitting, part), faces)


def _occluders(fitting: Fitting, teeth: Sequence[Part], worn: bool) -> Surface:
    """Return everything that hides teeth as one surface: the base, the teeth and, if asked, what is worn."""
    parts = (fitting.base, *teeth, *(fitting.snapshot.with_role(*WORN) if worn else ()))
    vertices = [at_rest_mm(fitting, part) for part in parts]
    starts = np.cumsum([0, *(len(each) for each in vertices[:-1])])
    faces = [part.faces + start for part, start in zip(parts, starts, strict=True)]
    return Surface(np.concatenate(vertices), np.concatenate(faces))


def measures(design: Display, bare: Display, views: Sequence[ViewPoint]) -> dict[str, float | str]:
    """Return the figures of the check: the worst view, then each view, then each marked tooth."""
    worst = int(design.area_mm2.argmax())
    figures: dict[str, float | str] = {
        "exposed_area_mm2": float(design.area_mm2[worst]),
        "exposed_fraction": float(design.area_mm2[worst]) / design.whole_mm2,
        "display_height_mm": float(design.height_mm.max()),
        "bare_exposed_area_mm2": float(bare.area_mm2.max()),
        "bare_display_height_mm": float(bare.height_mm.max()),
        "worst_view": views[worst].name,
    }
    for place, view in enumerate(views):
        figures[f"exposed_area_mm2_view_{view.name}"] = float(design.area_mm2[place])
        figures[f"exposed_fraction_view_{view.name}"] = float(design.area_mm2[place]) / design.whole_mm2
        figures[f"display_height_mm_view_{view.name}"] = float(design.height_mm[place])
    for row in design.rows:
        figures.update(_tooth_measures(row))
    return figures


def _tooth_measures(row: Exposure) -> Iterator[tuple[str, float]]:
    whole = np.bincount(row.teeth.tooth, weights=row.teeth.samples.area_mm2, minlength=len(row.teeth.names))
    for place, label in enumerate(row.teeth.labels):
        if label:
            area_mm2 = float(row.area_mm2[:, place].max())
            yield f"exposed_area_mm2_{label}", area_mm2
            yield f"exposed_fraction_{label}", area_mm2 / max(float(whole[place]), 1e-12)
            yield f"display_height_mm_{label}", float(row.height_mm[:, place].max())


def coverage_findings(
    fitting: Fitting, brief: Brief, design: Display, bare: Display, views: Sequence[ViewPoint]
) -> list[Finding]:
    """Return one finding for each tooth that shows more than it should, the tallest first."""
    found = []
    for row, own in zip(design.rows, bare.rows, strict=True):
        for tooth in range(len(row.teeth.names)):
            if row.height_mm[:, tooth].max() > brief.limits.tooth_display_review_mm:
                found.append(_finding(fitting, brief, row, own, tooth, views))
    return sorted(found, key=lambda finding: (-finding.value, finding.message))


def _finding(
    fitting: Fitting, brief: Brief, row: Exposure, own: Exposure, tooth: int, views: Sequence[ViewPoint]
) -> Finding:
    limits, teeth = brief.limits, row.teeth
    view = int(row.height_mm[:, tooth].argmax())
    height_mm, bare_mm = float(row.height_mm[view, tooth]), float(own.height_mm[view, tooth])
    failed = height_mm > limits.tooth_display_mm
    limit_mm = limits.tooth_display_mm if failed else limits.tooth_display_review_mm
    upper = teeth.part.role == Role.UPPER_TEETH
    name = teeth.names[tooth]
    seen = row.seen[view] & (teeth.tooth == tooth)
    place = teeth.points_mm[seen].mean(axis=0)
    over_mm = height_mm - limits.tooth_display_review_mm
    lip = "lengthen the upper lip" if upper else "raise the lower lip"
    faces = np.asarray(fitting.surface(teeth.part).oriented_faces)[np.unique(teeth.samples.face[seen])]
    return Finding(
        severity=Severity.FAIL if failed else Severity.REVIEW,
        message=(
            f"The {name} shows {height_mm:.1f} mm at rest, seen from {views[view].words} (limit {limit_mm:.1f} mm, "
            f"{_source('tooth_display_mm' if failed else 'tooth_display_review_mm')}); past the bare base's lips it "
            f"would show {bare_mm:.1f} mm."
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
    )


def _source(limit_name: str) -> str:
    return str(Limits.__dataclass_fields__[limit_name].metadata["source"])


def _field(row: Exposure, brief: Brief) -> Field:
    """Return the share of views from which each vertex's surroundings are seen."""
    teeth, count = row.teeth, len(row.teeth.part.faces)
    number = np.bincount(teeth.samples.face, minlength=count)
    share = np.bincount(teeth.samples.face, weights=row.seen.mean(axis=0), minlength=count) / np.maximum(number, 1)
    corners = teeth.part.faces.ravel()
    total = np.bincount(corners, minlength=len(teeth.part.vertices_mm))
    sums = np.bincount(corners, weights=np.repeat(share, 3), minlength=len(total))
    values = np.where(total > 0, sums / np.maximum(total, 1), np.nan)
    return Field("exposure", teeth.part.name, values, "share", "share of views that see it", 0.0, 1.0, motion=JAW)


CHECK = Check(
    id="coverage",
    question="Do the lips cover the teeth?",
    measure=measure_coverage,
    measured=(
        ("exposed_area_mm2", "tooth surface seen past the lips with the jaw closed, from the worst view, mm2"),
        ("exposed_fraction", "the same as a share of the whole surface of the teeth, roots included"),
        ("display_height_mm", "tallest upright strip of one tooth that is seen, from the worst view, mm"),
        ("bare_exposed_area_mm2, bare_display_height_mm", "the same teeth past the bare base's lips"),
        ("worst_view", "the view with the largest exposed area"),
        ("..._view_+30", "each figure from one view; positive angles are the performer's left"),
        ("..._tooth_33", "each figure for one marked tooth (vertex group dryfit_tooth_33, ISO 3950), worst view"),
    ),
    method=(
        "Samples 0.35 mm apart on every tooth, each standing for its share of area. A sample is seen from a view "
        "point when its surface faces it and a ray to it meets no base, appliance, hardware or other tooth in their "
        "poses at t = 0 of the jaw. Display height is the upright extent of what is seen in strips 1 mm wide. Norms "
        "at rest: upper central incisor 4.45 mm (girls 12-15) falling to 0.57 mm (men over 50), da Motta et al. "
        "2010, Aust Orthod J 26(1):27-32; Vig & Brundo 1978, J Prosthet Dent 39:502-504 (both from memory)."
    ),
    limits=("tooth_display_review_mm", "tooth_display_mm"),
    blind_spots=(
        "Lips that muscles pull in speech or a smile show more than the rest pose. Teeth that are not modelled, the "
        "tongue, saliva, light and depth of field are not there. Norms are means of measured groups, not of this "
        "performer."
    ),
)
