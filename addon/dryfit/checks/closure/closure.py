"""Does the mouth shut? If not, what stops it and by how much it must shrink."""

from __future__ import annotations

import numpy as np

from ...model.arrays import FloatArray
from ...model.brief import Brief
from ...model.finding import Bound, Curve, Outcome, not_checked
from ...model.progress import Job
from ...performer.closing import CannotClose, closed_mouth
from ...performer.fitting import Fitting
from ...performer.grounds import FRAME, MOUTH
from ...performer.mouth.lips import GapProfile
from ...performer.mouth.tooth_places import odd_findings
from ..check import Check, LeadingFigure, MouthPictures, PlotLine, Plotted
from .fields import closure_fields
from .findings import closure_findings
from .hinge_trials import hinge_trials
from .lip_reach import easy_mm, farthest_mm
from .result import ClosureResult, measures

NOT_SHUT = (
    "the bare face's own lips stand {way_mm:.1f} mm apart at the pose taken for closed, further than a resting face "
    "shows ({most_mm:g} mm), so closing cannot be judged from it. Place stomion_superius and stomion_inferius on the "
    "margins of the lips, state rest_deg under [motions.jaw] hinge = {{}} in the brief, or scan with the mouth shut."
)


def measure_closure(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Close the mouth and say how it went; the job of ``CHECK``."""
    try:
        closed = yield from closed_mouth(fitting)
    except CannotClose as why:
        return not_checked(str(why))
    if not np.isfinite(closed.closing.stop.gap_mm).any():
        return not_checked("no gap could be read anywhere along the lips. Check the landmarks of the mouth.")
    trials = yield from hinge_trials(closed)
    result = ClosureResult(fitting, brief, closed, trials)
    return Outcome(
        measures=measures(result),
        findings=(*closure_findings(result), *odd_findings(fitting)),
        curves=curves(result),
        fields=closure_fields(result),
        reason=_unjudged(result),
        judged={
            "residual_gap_mm": _bound(result, result.closing.stop.gap_mm),
            "lips_travel_mm": _bound(result, result.closing.stop.travel_mm),
            "bare_rest_gap_mm": Bound(brief.limits.lip_rest_mm, limit="lip_rest_mm"),
        },
    )


def _unjudged(result: ClosureResult) -> str:
    """Return why closing cannot be judged: the bare face's own lips stand too far apart; ``""`` where it can."""
    closed, most_mm = result.closed, result.brief.limits.lip_rest_mm
    return "" if closed.shut_in_pose else NOT_SHUT.format(way_mm=closed.bare_apart_mm, most_mm=most_mm)


def _bound(result: ClosureResult, left_mm: FloatArray) -> Bound:
    """Return what the largest of what is left ``(s,)`` is held against: what counts as met, or what lips close."""
    limits = result.brief.limits
    met_mm = float(result.mouth.allowed_mm[int(np.nanargmax(left_mm))])
    if result.closing.sealed or met_mm >= easy_mm(limits):
        return Bound(met_mm, limit="lip_seal_mm" if met_mm == limits.lip_seal_mm else "")
    if float(np.nanmax(left_mm)) > farthest_mm(limits):
        return Bound(farthest_mm(limits), limit="lip_gap_mm")
    return Bound(easy_mm(limits), limit="lip_gap_review_mm")


def curves(result: ClosureResult) -> dict[str, Curve]:
    """Return the gap against t, and along the lips where the jaw stopped, with the bare base beside it."""
    read = {profile.t: profile for profile in (*result.closing.profiles, result.closing.stop)}
    by_t = [read[t] for t in sorted(read)]
    return {
        "gap_by_t": Curve(
            tuple(profile.t for profile in by_t),
            tuple(profile.largest_mm for profile in by_t),
            "jaw, 0 closed to 1 wide open",
            "largest gap between the lips, mm",
        ),
        "gap_by_t_midline": Curve(
            tuple(profile.t for profile in by_t),
            tuple(profile.midline_mm for profile in by_t),
            "jaw, 0 closed to 1 wide open",
            "midline gap between the lips, mm",
        ),
        "gap_along_lips": _along(result.closing.stop),
        "bare_gap_along_lips": _along(result.bare_rest),
    }


def _along(profile: GapProfile) -> Curve:
    return Curve(
        tuple(profile.across_mm.tolist()),
        tuple(profile.gap_mm.tolist()),
        "from the midline, mm, performer's left positive",
        "gap between the lips, mm",
    )


CHECK = Check(
    id="closure",
    question="Does the mouth shut?",
    measure=measure_closure,
    measured=(
        ("closes", "1 when the lips meet before anything stops the jaw, else 0"),
        ("rest_gap_mm", "largest gap along the lips with the jaw closed (t = 0), mm"),
        ("residual_gap_mm", "largest gap along the lips at the pose where the jaw stopped, mm"),
        ("contact_t", "t at which something first stops the jaw; empty when nothing does"),
        (
            "contact_angle_deg, contact_open_mm",
            "how far the jaw is still open there, in turn and way",
        ),
        ("contact_pair", "what met what there"),
        ("bare_contact_t", "t at which the performer's own teeth meet, without the design; empty when they don't"),
        ("must_lose_mm", "the most that a piece in the way must lose, mm"),
        ("max_opening_mm", "height between the lips at the midline, wide open (t = 1), mm"),
        (
            "incisal_opening_mm",
            "distance between the incisal edges at the midline, wide open, seen from the side, mm; empty without both "
            "rows of teeth",
        ),
        ("bare_rest_gap_mm, bare_residual_gap_mm, bare_max_opening_mm", "the same on the bare base, at the same poses"),
        ("jaw_closes_mm, lips_left_mm", "at the midline: what the jaw's motion closes, and what it leaves to the lips"),
        ("lips_travel_mm", "longest way the lips must go by themselves to meet: up and, where they don't face, ahead"),
        ("lips_reach, lips_reach_limit_mm", "whether that is easy, strain or out of reach, and where reach ends"),
        ("lower_lip_short_mm, lower_lip_behind_mm", "how far the lower margin is below and behind the upper one then"),
        ("over_closure_deg, over_closure_mm", "how far the jaw turned past closed, and the chin rose"),
        ("scan_open_mm, scan_open_deg", "how far the mouth is open on the base, and the turn that shuts it"),
        ("mouth_found, motion_source", "what kind of mouth the base has, and what moves it"),
        (
            "axis_5mm_..., axis_10mm_...",
            "with the hinge's axis moved each way by axis_sensitivity_mm, and by twice that: least and largest gap, "
            "shift of the bite fore and aft, and whether any of them changes the answer",
        ),
        (
            "slide_gap_low_mm, slide_gap_high_mm, slide_flips",
            "with the hinge's slide less and more by slide_sensitivity (none and twice as much): least and largest "
            "gap, and whether one of them changes the answer",
        ),
        (
            "lower_lip_behind_low_mm, lower_lip_behind_high_mm",
            "the least and the most that lower_lip_behind_mm may be, axis and slide both as far off as tried",
        ),
        ("stop_t, stop_angle_deg, open_angle_deg", "where the jaw stopped, and the whole turn of the motion"),
        ("incisal_travel_mm", "straight way of the lower incisal point from closed to wide open, mm"),
        ("facing_fraction", "share of the stations at which the way between the lips leads more up than fore or aft"),
    ),
    method=(
        "The jaw is closed from t = 1 in 32 steps. On the closed mouth, seen from the front, the slit between the "
        "lips is followed from corner to corner, where upper and lower lip come together; at 61 stations along it the "
        "skin on either side, from 6 mm before the slit to 9 mm behind the margin, is the lips' facing edge (the "
        "vertex groups dryfit_lip_upper and dryfit_lip_lower go before what is seen). The gap is the height between "
        "the edges, as far as 4 mm behind the margins, along the head's upright, as the interlabial gap of "
        "cephalometry is (Legan & Burstone 1980, J Oral Surg 38:744); where they are nearly level, the way between "
        "them counts too, and where they overlap in height it is that way. Lips have met by the shortest way between "
        "them, not by height. Contact of lower teeth with upper teeth "
        "and upper lip, of upper teeth with the lower lip and of hardware with either is looked for as interference "
        "does, with the same forgiveness: what goes no deeper than overlap_hard_review_mm grazes, a lip gives way by "
        "lip_yield_mm; what goes deeper has met where it first touched, bisected to t = 0.00002. What is there already "
        "when the jaw is wide open (roots in gums) is taken off, and so is what the performer's own teeth do without "
        "the design. Teeth follow the bones: "
        "the mandible's turn is fitted to the skin of the chin (Kabsch 1976, doi 10.1107/S0567739476001873). What a "
        "blocking piece must lose is measured from its tip to the lowest place that the other reaches on it between "
        "first contact and closed, as far as it is beside what is deeper than forgiven. Opening is judged where the "
        "design takes some of the lips' away: a fifth of the bare base's, or what it leaves between the incisal edges, "
        "as opening is measured on people (PMC3428458, n = 894, year not seen; Tuerp 2020, Swiss "
        "Dent J 130:668). How far "
        "lips reach by themselves has no source: state lip_reach_mm for the performer."
    ),
    landmarks=(*MOUTH, *FRAME),
    moves=True,
    limits=(
        "lip_seal_mm",
        "lip_gap_over_bare_mm",
        "lip_rest_mm",
        "lip_gap_review_mm",
        "lip_gap_mm",
        "lip_yield_mm",
        "overlap_hard_review_mm",
        "lip_reach_mm",
        "over_closure_mm",
        "opening_review_mm",
        "opening_mm",
        "axis_sensitivity_mm",
        "slide_sensitivity",
    ),
    blind_spots=(
        "Lips are soft and muscles close them further than the jaw alone; the tongue, the bite's guidance and the "
        "performer's own teeth are only there if they are modelled. Shape keys are straight lines between shapes. "
        "Two rigid sheets both thinner than overlap_hard_review_mm can pass each other unseen."
    ),
    caution=(
        "A warning aid, never a clearance: jaw opening and airway are for the performer and a dentist or physician "
        "to judge."
    ),
    leading=(
        LeadingFigure("closes", "lips meet"),
        LeadingFigure("residual_gap_mm", "gap left between the lips", "lip_seal_mm"),
        LeadingFigure("max_opening_mm", "widest opening between the lips"),
        LeadingFigure("incisal_opening_mm", "widest opening between the incisal edges"),
    ),
    plots=(
        Plotted(
            "gap_by_t",
            "Gap between the lips as the jaw opens",
            (PlotLine("x", "contact_t", "first contact"), PlotLine("y", "lip_seal_mm", "shut below this", "contact_t")),
            own_words="largest, anywhere",
            compared=True,
        ),
        Plotted(
            "gap_along_lips",
            "Gap along the lips",
            (PlotLine("y", "lip_seal_mm", "shut below this"), PlotLine("y", "lip_gap_review_mm", "lips apart")),
        ),
    ),
    yes_no=("closes", "axis_*_flips", "slide_flips"),
    mouth_pictures=MouthPictures.CLOSING,
    painted=(
        ("gap", "How far apart the lips stay where the jaw stops"),
        ("excess", "How much must go for the lips to meet, from where the jaw stops"),
        ("pair", "The two pieces that stop the jaw: 0 on the one, 1 on what it meets"),
    ),
)
