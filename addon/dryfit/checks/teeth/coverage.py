"""Do the lips cover the teeth? How much tooth shows in every pose of the mouth, from every view."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ...geometry import Surface
from ...model.arrays import BoolArray, FloatArray
from ...model.brief import Brief
from ...model.finding import Curve, Field, Outcome, not_checked
from ...model.progress import Job, Progress
from ...model.snapshot import Role
from ...performer.closing import CannotClose, ClosedMouth, closed_mouth
from ...performer.fitting import Fitting
from ...performer.grounds import FRAME, MOUTH
from ...performer.head_frame import HeadFrame
from ...performer.motion.base_motion import JAW
from ...performer.mouth.tooth_places import odd_findings
from ...performer.views import ViewPoint, missing_cameras, view_points
from ..check import Check, LeadingFigure, MouthPictures, PlotLine, Plotted
from .display import Display, Look
from .exposure import Exposure, ToothSamples, areas_of_mm2, heights_of, seen_past
from .findings import coverage_findings
from .hiding import bare_hiding, worn_hiding
from .norms import means_by_age, norm_for
from .showing import Showing
from .shown_poses import CLOSED, ShownPose, moves_the_mouth, reached, shown_poses

JAWS = {"upper": Role.UPPER_TEETH, "lower": Role.LOWER_TEETH}
NO_TEETH = "there are no teeth: no object has the role 'upper_teeth' or 'lower_teeth'. Give the teeth their role."
NO_FRAME = (
    "left, front and up of this head are not known. Place a pair of landmarks (tragion_left and tragion_right, or the "
    "corners of the mouth or of the eyes) and an upright pair (sellion and gnathion, or subnasale and gnathion)."
)
NO_CLOSED = (
    "it is not known how far this mouth shuts ({why}), so that what shows with the jaw as closed as it gets cannot be "
    "told. What shows {words} was measured."
)
OPEN_LIPS = "the bare face's own lips stand {way_mm:.1f} mm apart at the pose taken for closed"
NO_VIEW = "no view is given. Add angles_deg or cameras under [views] in the brief."


def measure_coverage(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Look at the teeth in every pose from every view; the job of ``CHECK``."""
    snapshot = fitting.snapshot
    frame = HeadFrame.from_landmarks(snapshot.landmarks)
    if not snapshot.with_role(*JAWS.values()):
        return not_checked(NO_TEETH)
    if frame.assumed:
        return not_checked(NO_FRAME)
    missing = missing_cameras(brief.views, snapshot.cameras)
    if missing:
        return not_checked(f"the brief names cameras the scene does not have: {', '.join(missing)}.")
    closed, why = yield from _closing_or_why(fitting)
    yield Progress(0, 1, "finding the poses that move the mouth")
    jaw = CLOSED if JAW in fitting.motion_names else None
    moving = fitting.among(*moves_the_mouth(snapshot))
    poses = fitting.kept.of(shown_poses, moving, reached(closed) if closed is not None else jaw)
    bare = fitting.among(*snapshot.with_role(*JAWS.values()))
    views = view_points(brief.views, snapshot, frame, mouth_mm(fitting, _Shown(bare, poses[0], poses[0], ()).rows))
    if not views:
        return not_checked(NO_VIEW)
    looks = []
    for number, pose in enumerate(poses):
        yield Progress(number, len(poses), f"looking at the teeth {pose.words}")
        looks.append(_look(fitting, frame, _Shown(bare, poses[0], pose, views)))
    shut = next((look for look in looks if look.pose == CLOSED), looks[0])
    showing = Showing(fitting, brief, looks[0], shut, closed)
    return Outcome(
        measures=dict(measures(looks, brief)),
        findings=(*coverage_findings(showing), *odd_findings(fitting)),
        reason=NO_CLOSED.format(why=why, words=looks[0].pose.words) if why else "",
        curves=curves(looks[0]),
        judged={"display_height_mm": showing.bound},
        fields=tuple(_field(row, looks[0].pose) for row in looks[0].design.rows),
    )


def _closing_or_why(fitting: Fitting) -> Job[tuple[ClosedMouth | None, str]]:
    """Return how the mouth closes, and why that cannot be told; ``""`` where it can."""
    try:
        closed = yield from closed_mouth(fitting)
    except CannotClose as why:
        return None, str(why).rstrip(".")
    return closed, "" if closed.shut_in_pose else OPEN_LIPS.format(way_mm=closed.bare_apart_mm)


def mouth_mm(fitting: Fitting, rows: Sequence[ToothSamples]) -> FloatArray:
    """Return the point the views are turned about, ``(3,)``: between the lips, or the middle of the teeth."""
    marks = fitting.snapshot.landmarks
    if "stomion_superius" in marks and "stomion_inferius" in marks:
        return np.asarray(0.5 * (marks["stomion_superius"] + marks["stomion_inferius"]))
    return np.asarray(np.concatenate([row.points_mm for row in rows]).mean(axis=0))


def _sampled(fitting: Fitting, pose: ShownPose) -> tuple[ToothSamples, ...]:
    rows = []
    for part in fitting.snapshot.with_role(*JAWS.values()):
        faces = np.asarray(fitting.surface(part).oriented_faces, dtype=np.int64)
        rows.append(ToothSamples.on(part, pose.vertices_mm(fitting, part), faces))
    return tuple(rows)


@dataclass(frozen=True)
class _Shown:
    """The teeth of a bare head in one pose, from some views.

    Attributes
    ----------
    bare
        The head with its teeth, and nothing else that is worn.
    first
        The pose in which the teeth are sampled.
    """

    bare: Fitting
    first: ShownPose
    pose: ShownPose
    views: tuple[ViewPoint, ...]

    @property
    def eyes(self) -> list[FloatArray]:
        return [view.eye_mm for view in self.views]

    @property
    def rows(self) -> list[ToothSamples]:
        """The samples in the pose."""
        sampled = self.bare.kept.of(_sampled, self.bare, self.first)
        return [row.posed(self.pose.vertices_mm(self.bare, row.part)) for row in sampled]


def _look(fitting: Fitting, frame: HeadFrame, shown: _Shown) -> Look:
    kept, rows, pose = fitting.kept, shown.rows, shown.pose
    past_bare = kept.of(_past_bare, shown)
    left_open = kept.of(_left_open_mm, shown)
    # What is worn only hides more, so that only what the bare base leaves open needs another look.
    worn = worn_hiding(fitting, pose, shown.eyes, left_open) if len(left_open) else None
    past_all = kept.of(_past_worn, shown, worn)
    design, own = (_display(rows, past, *kept.of(_sizes, shown, past, frame.up)) for past in (past_all, past_bare))
    return Look(pose, shown.views, design, own)


def _display(
    rows: list[ToothSamples], seen_of: list[BoolArray], heights_mm: list[FloatArray], areas_mm2: list[FloatArray]
) -> Display:
    return Display(tuple(map(Exposure, rows, seen_of, heights_mm, areas_mm2)))


def _past_bare(shown: _Shown) -> list[BoolArray]:
    """Return which samples of each row the bare base and the teeth do not hide from each view, ``(v, k)``."""
    rows, eyes = shown.rows, shown.eyes
    hiding = bare_hiding(shown.bare, shown.pose, eyes, np.concatenate([row.points_mm for row in rows]))
    facing = [np.stack([row.facing(eye) for eye in eyes]) for row in rows]
    return [seen_past(row, shown.views, among, hiding) for row, among in zip(rows, facing, strict=True)]


def _past_worn(shown: _Shown, worn: Surface | None) -> list[BoolArray]:
    """Return which of them what is worn does not hide either."""
    past_bare = shown.bare.kept.of(_past_bare, shown)
    return [seen_past(row, shown.views, among, worn) for row, among in zip(shown.rows, past_bare, strict=True)]


def _left_open_mm(shown: _Shown) -> FloatArray:
    """Return the samples that the bare base and the teeth leave open to some view, ``(k, 3)``, mm."""
    past_bare = shown.bare.kept.of(_past_bare, shown)
    return np.concatenate([row.points_mm[seen.any(axis=0)] for row, seen in zip(shown.rows, past_bare, strict=True)])


def _sizes(shown: _Shown, seen_of: list[BoolArray], up: FloatArray) -> tuple[list[FloatArray], list[FloatArray]]:
    """Return display height and area of each row's teeth from each view, where so much of them is seen."""
    rows = list(zip(shown.rows, seen_of, strict=True))
    heights_mm = [heights_of(row, seen, shown.views, up) for row, seen in rows]
    return heights_mm, [areas_of_mm2(row, seen) for row, seen in rows]


def measures(looks: Sequence[Look], brief: Brief) -> Iterator[tuple[str, float | str]]:
    """Yield the figures of the pose that is judged, then those of the norms, then those of the other poses."""
    judged, *others = looks
    yield from judged.measures()
    yield "judged_pose", judged.pose.name
    for jaw, role in JAWS.items():
        if judged.front is not None:
            yield f"front_display_mm_{jaw}", judged.design.height_of_mm(judged.front, role)
        performer = brief.performer
        norm = performer.age_years and norm_for(performer.age_years, performer.sex, jaw == "upper")
        if norm:
            yield f"norm_display_mm_{jaw}", norm.mean_mm
    for look in others:
        for name, figure in look.measures():
            yield f"{name}_pose_{look.pose.name}", figure


def curves(judged: Look) -> dict[str, Curve]:
    """Return the published means by age, for the design's own display to be drawn across; none without a front view."""
    if judged.front is None:
        return {}
    here = [jaw for jaw, role in JAWS.items() if any(row.teeth.part.role == role for row in judged.design.rows)]
    return {f"display_by_age_{jaw}": _means(jaw) for jaw in here}


def _means(jaw: str) -> Curve:
    ages, means = zip(*means_by_age(jaw == "upper"), strict=True)
    return Curve(ages, means, "age, years", "central incisors shown, mm")


def _field(row: Exposure, pose: ShownPose) -> Field:
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
        ("exposed_area_mm2", "tooth surface seen past the lips with the jaw as closed as it gets, worst view, mm2"),
        ("exposed_fraction", "the same as a share of the whole surface of the teeth, roots included"),
        ("display_height_mm", "tallest upright strip of one tooth that is seen, from the worst view, mm"),
        ("bare_exposed_area_mm2, bare_display_height_mm", "the same teeth in the same pose past the bare base's lips"),
        ("worst_view", "the view with the largest exposed area"),
        ("..._view_+30", "each figure from one view; positive angles are the performer's left"),
        ("..._tooth_33", "each figure for one marked tooth (vertex group dryfit_tooth_33, ISO 3950), worst view"),
        (
            "judged_pose",
            "the pose of the figures above: closed, stopped where something stops the jaw, or as scanned",
        ),
        ("front_display_mm_upper, front_display_mm_lower", "tallest display of each jaw's teeth from the front, mm"),
        (
            "norm_display_mm_upper, norm_display_mm_lower",
            "mean of the performer's age and sex, where age_years (and sex) stands under [performer] in the brief and "
            "somebody measured people of that age, mm",
        ),
        (
            "..._pose_jaw_open, ..._pose_smile_end, ..._pose_rest",
            "each figure in another pose: the ends of every motion that moves the mouth, and as scanned where that is "
            "no closed jaw; no limit holds there",
        ),
    ),
    method=(
        "Samples 0.35 mm apart on every tooth, each standing for its share of area. A sample is seen from a view point "
        "when its surface faces it and a ray to it meets no base, appliance, hardware or other tooth in their poses. "
        "View points are the brief's angles and cameras; unless the brief names cameras, those of the scene that stand "
        "before the face. Display height is the upright extent of what is seen in strips 1 mm wide. It is judged at "
        "the pose that the closing jaw gets to, as closure says it (the jaw closed where nothing stops it), and "
        "reported in every other pose that moves the mouth. Of the performer's own teeth only what shows beyond what "
        "they show on the bare, closed face is judged. With the performer's age stated, central incisors are held "
        "against people of that age and sex too, from the front as those were measured: one standard deviation over "
        "the mean is to be reviewed, two fail. Upper, mm: Turks of 20-27, women 3.2 (SD 1.9), men 2.7 (1.8), "
        "Scientific World Journal 2013, 806203, table 2; people of 16-70, women 2.68 (1.80), men 1.38 (1.41), J Bagh "
        "Coll Dent 2009, 21(1), held to 16-19 and 28-50 years; white Brazilians of 12-15, girls 4.45, boys 3.35, and "
        "from 51 years, women 1.32, men 0.57, da Motta et al. 2010, Aust Orthod J 26:27-32 (n = 240). Lower, the same "
        "Brazilians: "
        "0.47 and 0.61, 2.22 and 3.05 mm. Where no scatter was seen, tooth_display_scatter_mm stands in and nothing "
        "fails by it. Where the sex is not stated, those who show more count. Teeth that the brief calls shown are "
        "measured and held against nothing."
    ),
    landmarks=(*FRAME, *MOUTH),
    moves=True,
    limits=("tooth_display_review_mm", "tooth_display_mm", "tooth_display_scatter_mm"),
    blind_spots=(
        "No norm says what a smile or an open mouth should show, so those poses are reported and not judged. Where it "
        "cannot be told how the mouth closes, what shows too much is found and nothing passes. Teeth that are not "
        "modelled, the tongue, saliva, light and depth of field are not there. Norms are means of measured groups, not "
        "of this performer, and of central incisors alone: of children under 12, of lower teeth between 16 and 50, and "
        "of any tooth from the side none was found."
    ),
    leading=(
        LeadingFigure("display_height_mm", "height of tooth shown, worst view", "tooth_display_mm"),
        LeadingFigure("exposed_area_mm2", "area of tooth shown, worst view"),
        LeadingFigure("exposed_fraction", "share of the teeth shown"),
    ),
    plots=(
        Plotted(
            "display_by_age",
            "Tooth shown at rest by age, published means",
            (
                PlotLine("y", "front_display_mm_upper", "upper teeth here"),
                PlotLine("y", "front_display_mm_lower", "lower teeth here"),
            ),
            needs=("norm_display_mm_upper", "norm_display_mm_lower"),
        ),
    ),
    mouth_pictures=MouthPictures.AT_REST,
    painted=(("exposure", "How much of each tooth is seen"),),
)
