"""Do the lips cover the teeth? What shows with the jaw closed and at the end of each motion, from every view."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..model.arrays import FloatArray
from ..model.brief import Brief
from ..model.finding import Field, Outcome, not_checked
from ..model.progress import Job, Progress
from ..model.snapshot import Role
from .check import Check
from .coverage_display import Audience, sampled
from .coverage_findings import coverage_findings
from .coverage_measures import curves, measures
from .coverage_poses import Pose, closed_pose, further_poses
from .exposure import Exposure, ToothSamples
from .fitting import Fitting
from .head_frame import HeadFrame
from .views import missing_cameras, view_points

TEETH = (Role.UPPER_TEETH, Role.LOWER_TEETH)
NO_TEETH = "there are no teeth: no object has the role 'upper_teeth' or 'lower_teeth'. Give the teeth their role."
NO_FRAME = (
    "left, front and up of this head are not known. Place a pair of landmarks (tragion_left and tragion_right, or the "
    "corners of the mouth or of the eyes) and an upright pair (sellion and gnathion, or subnasale and gnathion)."
)


def measure_coverage(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Look at the teeth from every view, at every pose that matters; the job of ``CHECK``."""
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
    closed = closed_pose(fitting)
    middle_mm = mouth_mm(fitting, [sampled(fitting, part, closed) for part in teeth])
    views = view_points(brief.views, snapshot, frame, middle_mm)
    if not views:
        return not_checked("no view is given. Add angles_deg or cameras under [views] in the brief.")
    poses = tuple(further_poses(fitting, middle_mm))
    audience = Audience(fitting, teeth, views, frame.up)
    yield Progress(0, len(poses) + 2, "looking at the teeth")
    design = audience.display(closed)
    yield Progress(1, len(poses) + 2, "looking at the teeth on the bare base")
    bare = Audience(fitting, teeth, views, frame.up, worn=False).display(closed)
    further = []
    for number, pose in enumerate(poses):
        yield Progress(number + 2, len(poses) + 2, f"looking at the teeth {pose.words}")
        further.append(audience.display(pose))
    return Outcome(
        measures=measures(design, bare, further, views),
        findings=tuple(coverage_findings(fitting, brief, design, bare, views)),
        curves=curves(design, further, views),
        fields=tuple(_field(row, closed) for row in design.rows),
    )


def mouth_mm(fitting: Fitting, rows: Sequence[ToothSamples]) -> FloatArray:
    """Return the point the views are turned about, ``(3,)``: between the lips, or the middle of the teeth."""
    marks = fitting.snapshot.landmarks
    if "stomion_superius" in marks and "stomion_inferius" in marks:
        return np.asarray(0.5 * (marks["stomion_superius"] + marks["stomion_inferius"]))
    return np.asarray(np.concatenate([row.points_mm for row in rows]).mean(axis=0))


def _field(row: Exposure, pose: Pose) -> Field:
    """Return the share of views from which each vertex's surroundings are seen."""
    teeth, count = row.teeth, len(row.teeth.part.faces)
    number = np.bincount(teeth.samples.face, minlength=count)
    share = np.bincount(teeth.samples.face, weights=row.seen.mean(axis=0), minlength=count) / np.maximum(number, 1)
    corners = teeth.part.faces.ravel()
    total = np.bincount(corners, minlength=len(teeth.part.vertices_mm))
    sums = np.bincount(corners, weights=np.repeat(share, 3), minlength=len(total))
    values = np.where(total > 0, sums / np.maximum(total, 1), np.nan)
    words = "share of views that see it"
    return Field("exposure", teeth.part.name, values, "share", words, 0.0, 1.0, motion=pose.motion, t=pose.t)


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
        ("..._in_smile", "each figure at the end of one motion, or (_in_rest) in the scan as it is; not judged"),
        ("central_display_mm_upper, ..._lower", "height of the central incisors that shows from the front, mm"),
        ("shown_on_average_at_upper, ..._lower", "the age at which people show as much on average"),
        ("..._tooth_33", "each figure for one marked tooth (vertex group dryfit_tooth_33, ISO 3950), worst view"),
    ),
    method=(
        "Samples 0.35 mm apart on every tooth, each standing for its share of area. A sample is seen from a view "
        "point when its surface faces it and a ray to it meets no base, appliance, hardware or other tooth in their "
        "poses at t = 0 of the jaw; then the same at the end of every motion that moves skin near the mouth. Display "
        "height is the upright extent of what is seen in strips 1 mm wide. Norms at rest: upper central incisor 4.45 "
        "mm (girls 12-15) falling to 0.57 mm (men over 50), da Motta et al. 2010, Aust Orthod J 26(1):27-32; means by "
        "age, Vig & Brundo 1978, J Prosthet Dent 39:502-504 (from memory)."
    ),
    limits=("tooth_display_review_mm", "tooth_display_mm"),
    blind_spots=(
        "Only the closed mouth is judged: how much a smile or an open mouth may show is the designer's own wish, and "
        "what lies between a motion's ends is not looked at. Teeth that are not modelled, the "
        "tongue, saliva, light and depth of field are not there. Norms are means of measured groups, not of this "
        "performer."
    ),
)
