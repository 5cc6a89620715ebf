"""Do the lids still close, and does the eye stay clear?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...model.arrays import FloatArray
from ...model.brief import Brief
from ...model.finding import Bound, Curve, Finding, Outcome, Severity, not_checked
from ...model.limits import Limits
from ...model.progress import Job, Progress
from ...model.snapshot import Part, Role
from ...performer.eyes import SIDES, find_eye, is_lens
from ...performer.fitting import Fitting
from ...performer.grounds import EYES
from ...performer.head_frame import ASSUMED_FRONT, HeadFrame
from ...performer.lids import Lids, lid_groups, lids_can_be_read
from ...performer.motion.base_motion import NoMotion
from ...performer.worn import worn_parts
from ..check import Check, LeadingFigure, Plotted
from .clearance import EyeClearance, eye_clearance
from .lid_contact import Beside, LidMeeting, PieceOnPiece, PressedIn, beside_the_opening, first_meeting

STEPS_T = 16
SEALED_MM = 0.1
PRECISION_T = 1e-3
LEAST_CLOSING = 0.25
"""A motion that shuts less than this share of the open gap is no blink, so nothing is learnt from what it leaves."""


@dataclass(frozen=True)
class Blink:
    """One eye closing.

    Attributes
    ----------
    bare_t, bare_gap_mm
        Where the bare lids meet, or the end of the motion, and the gap they leave there.
    residual_mm
        Largest gap between the performer's own lids where they stop with the design on.
    meeting
        What stops them, or None.
    gap_by_t
        ``(s, 2)``: t and the bare gap.
    widest_mm
        Where the gap is largest as they stop, ``(3,)``.
    clearance
        How near what is worn comes to the eye, or None without an eyeball.
    """

    side: str
    bare_t: float
    bare_gap_mm: float
    residual_mm: float
    meeting: LidMeeting | None
    gap_by_t: FloatArray
    widest_mm: FloatArray
    clearance: EyeClearance | None


def blink(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Report how far the lids stay apart with the design on, and how near it comes to the eye."""
    frame = HeadFrame.from_landmarks(fitting.snapshot.landmarks)
    blinks, why_not = [], []
    for number, side in enumerate(SIDES):
        yield Progress(number, len(SIDES), f"{side} lids closing")
        lids = lids_of(fitting, side, frame)
        one = lids if isinstance(lids, str) else _blink(lids, brief.limits)
        if isinstance(one, str):
            why_not.append(one)
        else:
            blinks.append(one)
    if not blinks:
        return not_checked(" ".join(dict.fromkeys(why_not)))
    return Outcome(
        measures=_measures(blinks),
        findings=tuple(_findings(blinks, fitting, brief.limits)),
        curves=dict(_curves(blinks)),
        judged=_judged(blinks, brief.limits),
        reason=" ".join(dict.fromkeys([*why_not, *([ASSUMED_FRONT] if frame.assumed else [])])),
    )


def _bound(one: Blink, limits: Limits) -> Bound:
    """Return what the gap that is left is held against: what the bare lids leave themselves, and a bit."""
    own_mm = one.bare_gap_mm if one.bare_gap_mm > SEALED_MM else 0.0
    return Bound(own_mm + limits.lid_gap_mm, limit="" if own_mm else "lid_gap_mm")


def motion_of(fitting: Fitting, side: str) -> str | None:
    """Return the name of the motion that closes an eye: ``blink_left`` or ``blink_right`` before ``blink``."""
    return next((name for name in (f"blink_{side}", "blink") if name in fitting.motion_names), None)


def lids_of(fitting: Fitting, side: str, frame: HeadFrame) -> Lids | str:
    """Return the lids of one side, or why they cannot be read."""
    motion = motion_of(fitting, side)
    if motion is None:
        return "There is no blink. Name its shape keys under [motions.blink] in the brief, open at 0 and closed at 1."
    eye = find_eye(fitting, side, frame)
    if eye is None:
        return f"The {side} eye was not found: add the landmark pupil_{side} or an eyeball with the role eye_{side}."
    if not lids_can_be_read(fitting, eye):
        groups = " and ".join(lid_groups(side))
        return f"The {side} lids were not read: add an eyeball with the role eye_{side}, or the vertex groups {groups}."
    try:
        return Lids(fitting, fitting.poses(motion), eye, frame)
    except NoMotion as error:
        return f"The blink was not measured: {error}."


def _blink(lids: Lids, limits: Limits) -> Blink | str:
    """Return one eye closing, or why its motion is no blink."""
    bare = lids.on(lids.fitting.head)
    gap_by_t, bare_t, bare_gap = bare.fitting.kept.of(_bare_closing, bare)
    open_gap = float(gap_by_t[0, 1])
    if bare_gap > max((1.0 - LEAST_CLOSING) * open_gap, SEALED_MM):
        return (
            f"The blink shuts the bare {lids.eye.side} lids only from {open_gap:.1f} to {bare_gap:.1f} mm, so it does "
            "not show whether they close: name keys that shut them, open at 0 and closed at 1."
        )
    meeting, residual = _stopped(lids, bare_t, bare_gap, limits)
    return Blink(
        side=lids.eye.side,
        bare_t=bare_t,
        bare_gap_mm=bare_gap,
        residual_mm=residual,
        meeting=meeting,
        gap_by_t=gap_by_t,
        widest_mm=bare.fitting.kept.of(_widest_mm, bare, meeting.t if meeting else bare_t),
        clearance=eye_clearance(lids, _worn(lids), bare_t),
    )


def _bare_closing(lids: Lids) -> tuple[FloatArray, float, float]:
    """Return t and the bare gap on the way, ``(s, 2)``, where the bare lids meet, and the gap they leave there."""
    gap_by_t = np.array([[t, lids.gap_mm(float(t))] for t in np.linspace(0.0, 1.0, STEPS_T + 1)])
    bare_t = meet_t(lids, gap_by_t)
    return gap_by_t, bare_t, lids.gap_mm(bare_t)


def _widest_mm(lids: Lids, t: float) -> FloatArray:
    return lids.widest_mm(t)


def _gap_mm(lids: Lids, t: float) -> float:
    return lids.gap_mm(t)


def _left_mm(lids: Lids, meeting: LidMeeting, limits: Limits) -> float:
    """Return the gap that is left where something is met; two soft pieces give way by the contact depth first."""
    bare = lids.on(lids.fitting.head)
    return bare.fitting.kept.of(_gap_mm, bare, meeting.t) - (limits.lid_contact_mm if meeting.soft else 0.0)


def _pressed(part: Part, lids: Lids, last_t: float, press_mm: float) -> LidMeeting | None:
    return first_meeting(PressedIn(part, lids, press_mm), last_t)


def _piece_on_piece(beside: Beside, lids: Lids, last_t: float) -> LidMeeting | None:
    return first_meeting(PieceOnPiece(beside, lids), last_t)


def meet_t(lids: Lids, gap_by_t: FloatArray) -> float:
    """Return where the bare lids meet; where they never do, the t of the smallest gap."""
    met = np.flatnonzero(gap_by_t[:, 1] <= SEALED_MM)
    if not len(met):
        return float(gap_by_t[gap_by_t[:, 1].argmin(), 0])
    if met[0] == 0:
        return 0.0
    apart, closed = gap_by_t[met[0] - 1, 0], gap_by_t[met[0], 0]
    while closed - apart > PRECISION_T:
        middle = 0.5 * (apart + closed)
        apart, closed = (apart, middle) if lids.gap_mm(middle) <= SEALED_MM else (middle, closed)
    return float(closed)


def _worn(lids: Lids) -> list[Part]:
    parts = worn_parts(lids.fitting, Role.APPLIANCE, Role.HARDWARE)
    return [part for part in parts if not is_lens(part, lids.eye, lids.fitting)]


def _stopped(lids: Lids, bare_t: float, bare_gap: float, limits: Limits) -> tuple[LidMeeting | None, float]:
    """Return what stops the lids and the gap that is left."""
    worn = _worn(lids)
    kept, alone = lids.fitting.kept, lids.fitting.alone
    meetings = [kept.of(_pressed, part, lids.on(alone(part)), bare_t, limits.lid_contact_mm) for part in worn]
    beside = beside_the_opening(worn, lids, lids.frame, lids.fitting)
    among = lids.on(lids.fitting.among(*(part for part, _ in beside)))
    meetings.append(kept.of(_piece_on_piece, beside, among, bare_t))
    left = [(_left_mm(lids, one, limits), one) for one in meetings if one]
    worst = max(left, key=lambda entry: entry[0], default=None)
    if worst is None or worst[0] <= bare_gap:
        return None, bare_gap
    return worst[1], worst[0]


def _measures(blinks: list[Blink]) -> dict[str, float | str]:
    by_side = {one.side: one for one in blinks}
    measures: dict[str, float | str] = {}
    for side in SIDES:
        measures[f"residual_gap_mm_{side}"] = by_side[side].residual_mm if side in by_side else float("nan")
    clear = [one.clearance.distance_mm for one in blinks if one.clearance is not None]
    measures["eye_clearance_mm"] = min(clear, default=float("nan"))
    for side in SIDES:
        measures[f"bare_residual_gap_mm_{side}"] = by_side[side].bare_gap_mm if side in by_side else float("nan")
        measures[f"open_gap_mm_{side}"] = float(by_side[side].gap_by_t[0, 1]) if side in by_side else float("nan")
    return measures


def _judged(blinks: list[Blink], limits: Limits) -> dict[str, Bound | None]:
    """Return what judges the figures; of the way to the eye nothing is asked where nothing worn is near one."""
    judged: dict[str, Bound | None] = {f"residual_gap_mm_{one.side}": _bound(one, limits) for one in blinks}
    if all(one.clearance is None or one.clearance.distance_mm == np.inf for one in blinks):
        judged["eye_clearance_mm"] = None
    return judged


def _findings(blinks: list[Blink], fitting: Fitting, limits: Limits) -> list[Finding]:
    found: list[Finding] = []
    for one in blinks:
        found.extend(_gap(one, fitting, limits))
        found.extend(_bare(one, fitting))
        found.extend(_near(one, fitting, limits))
        found.extend(_lens(one, fitting))
    return sorted(found, key=lambda finding: finding.severity.rank)


def _gap(one: Blink, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    over = one.residual_mm - one.bare_gap_mm
    if one.meeting is None or over <= 0.0:
        return
    severity, limit = Severity.INFO, limits.lid_gap_review_mm
    if over > limits.lid_gap_review_mm:
        severity = Severity.REVIEW
    if over > limits.lid_gap_mm:
        severity, limit = Severity.FAIL, limits.lid_gap_mm
    part = one.meeting.part
    place = fitting.place(part.name, one.meeting.at_mm)
    other = _other(one.meeting, fitting)
    yield Finding(
        severity=severity,
        message=(
            f"The {one.side} lids stop {one.residual_mm:.1f} mm apart: {part.name} meets {other} at the "
            f"{place.region}. The bare lids leave {one.bare_gap_mm:.1f} mm (limit {limit:g} mm more than that)."
        ),
        place=place,
        value=over,
        limit=limit,
        fix=f"take {over:.1f} mm off {part.name} where it faces {other} at the {place.region}",
        elements=one.meeting.vertices,
    )


def _other(meeting: LidMeeting, fitting: Fitting) -> str:
    """Say what a piece meets."""
    if meeting.other == fitting.base.name:
        return "the lid"
    return "its own other edge" if meeting.other == meeting.part.name else meeting.other


def _bare(one: Blink, fitting: Fitting) -> Iterator[Finding]:
    if one.bare_gap_mm <= SEALED_MM:
        return
    words = (
        f"The bare {one.side} lids themselves stay {one.bare_gap_mm:.1f} mm apart at the end of the motion; only what "
        "the design adds to that was judged."
    )
    yield _note(words, fitting.base, one.widest_mm, fitting, one.bare_gap_mm)


def _near(one: Blink, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    near = one.clearance
    if near is None or near.part is None or near.distance_mm >= limits.eye_clearance_review_mm:
        return
    touching = near.distance_mm < limits.eye_clearance_mm
    limit = limits.eye_clearance_mm if touching else limits.eye_clearance_review_mm
    place = fitting.place(near.part.name, near.at_mm)
    yield Finding(
        severity=Severity.FAIL if touching else Severity.REVIEW,
        message=(
            f"{near.part.name} comes within {near.distance_mm:.1f} mm of the {one.side} eye at t = {near.t:.2f} of the "
            f"blink (limit {limit:g} mm)."
        ),
        place=place,
        value=near.distance_mm,
        limit=limit,
        fix=f"keep {near.part.name} {limits.eye_clearance_review_mm:g} mm off the eye",
        elements=near.vertices,
    )


def _lens(one: Blink, fitting: Fitting) -> Iterator[Finding]:
    eye = find_eye(fitting, one.side, HeadFrame.from_landmarks(fitting.snapshot.landmarks))
    for part in fitting.snapshot.with_role(Role.HARDWARE):
        if eye is not None and is_lens(part, eye, fitting):
            words = (
                f"{part.name} lies on the {one.side} eye and is taken for a contact lens: its fit is not judged here. "
                "Lenses are fitted by a licensed eye-care practitioner."
            )
            yield _note(words, part, part.vertices_mm.mean(axis=0), fitting, float("nan"))


def _note(words: str, part: Part, at_mm: FloatArray, fitting: Fitting, value: float) -> Finding:
    return Finding(
        severity=Severity.INFO,
        message=words,
        place=fitting.place(part.name, at_mm),
        value=value,
    )


def _curves(blinks: list[Blink]) -> Iterator[tuple[str, Curve]]:
    for one in blinks:
        t, gap = one.gap_by_t.T
        label = f"gap between the bare {one.side} lids, mm"
        yield f"lid_gap_by_t_{one.side}", Curve(tuple(t.tolist()), tuple(gap.tolist()), "blink, t", label)


CHECK = Check(
    id="blink",
    question="Do the lids still close, clear of the eye?",
    measure=blink,
    measured=(
        (
            "residual_gap_mm_left",
            "largest gap between the performer's own left lids where they stop with the design on",
        ),
        ("residual_gap_mm_right", "the same, right eye"),
        ("eye_clearance_mm", "least distance from anything worn to an eyeball, with open and closing lids"),
        ("bare_residual_gap_mm_left", "gap that the bare left lids leave where they close furthest"),
        ("bare_residual_gap_mm_right", "the same, right eye"),
        ("open_gap_mm_left", "gap between the left lids at blink t = 0"),
        ("open_gap_mm_right", "the same, right eye"),
    ),
    method=(
        "The gap is the height over which the eyeball is seen from the front between the lids, in columns 0.5 mm apart "
        "to 0.05 mm (without an eyeball: between the skin marked dryfit_lid_upper and dryfit_lid_lower). The blink "
        "is followed until the bare lids meet; pieces without keys ride the skin. The lids stop where a piece presses "
        "deeper into the skin than with open eyes by lid_contact_mm, or where a piece above the lid opening crosses "
        "one below it. Distance to the eye counts from worn points that no skin shields."
    ),
    landmarks=EYES,
    moves=True,
    limits=(
        "lid_gap_review_mm",
        "lid_gap_mm",
        "lid_contact_mm",
        "eye_clearance_review_mm",
        "eye_clearance_mm",
    ),
    blind_spots=(
        "A piece's stiffness and weight on the lid, lashes, adhesive, tears and how often the performer blinks are not "
        "seen; the lid is taken to be strong enough to move the piece. Pieces that seal the gap between them are "
        "still a gap between the performer's own lids. Gaze does not change."
    ),
    caution=(
        "A warning aid, never a clearance: an eye that cannot close dries and is hurt quickly. Keep adhesives and "
        "removers off lid margins, and stop when the performer says so. Contact lenses are medical devices and "
        "are fitted by a licensed eye-care practitioner."
    ),
    leading=(
        LeadingFigure("residual_gap_mm_left", "gap left between the left lids", "lid_gap_mm"),
        LeadingFigure("residual_gap_mm_right", "gap left between the right lids", "lid_gap_mm"),
        LeadingFigure("eye_clearance_mm", "nearest piece to an eye", "eye_clearance_mm", at_least=True),
    ),
    plots=(Plotted("lid_gap_by_t", "Gap between the lids as they close"),),
)
