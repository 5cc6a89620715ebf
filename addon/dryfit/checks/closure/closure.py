"""Does the mouth shut? If not, what stops it and by how much it must shrink."""

from __future__ import annotations

import numpy as np

from ...model.brief import Brief
from ...model.finding import Bound, Curve, Outcome, not_checked
from ...model.progress import Job
from ...performer.closing import CannotClose, closed_mouth
from ...performer.fitting import Fitting
from ...performer.grounds import FRAME, MOUTH
from ...performer.mouth.lips import GapProfile
from ..check import Check, LeadingFigure, MouthPictures, PlotLine, Plotted
from .axis_trials import axis_trials
from .fields import closure_fields
from .findings import closure_findings
from .lip_reach import easy_mm
from .result import ClosureResult, measures


def measure_closure(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Close the mouth and say how it went; the job of ``CHECK``."""
    try:
        closed = yield from closed_mouth(fitting)
    except CannotClose as why:
        return not_checked(str(why))
    if not np.isfinite(closed.closing.stop.gap_mm).any():
        return not_checked("no gap could be read anywhere along the lips. Check the landmarks of the mouth.")
    trials = yield from axis_trials(fitting, closed.poses, closed.mouth)
    result = ClosureResult(fitting, brief, closed, trials)
    return Outcome(
        measures=measures(result),
        findings=tuple(closure_findings(result)),
        curves=curves(result),
        fields=closure_fields(result),
        judged={"residual_gap_mm": _gap_bound(result)},
    )


def _gap_bound(result: ClosureResult) -> Bound:
    """Return what the largest gap is held against: what counts as met there, or what lips close by themselves."""
    stop, limits = result.closing.stop, result.brief.limits
    met_mm = float(result.mouth.allowed_mm[int(np.nanargmax(stop.gap_mm))])
    if result.closing.sealed or met_mm >= easy_mm(limits):
        return Bound(met_mm, limit="lip_seal_mm" if met_mm == limits.lip_seal_mm else "")
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
        ("bare_rest_gap_mm, bare_residual_gap_mm, bare_max_opening_mm", "the same on the bare base, at the same poses"),
        ("jaw_closes_mm, lips_left_mm", "at the midline: what the jaw's motion closes, and what it leaves to the lips"),
        ("lips_travel_mm", "longest way the lips must go by themselves: up the gap and, where they don't face, ahead"),
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
        ("stop_t, stop_angle_deg, open_angle_deg", "where the jaw stopped, and the whole turn of the motion"),
        ("incisal_travel_mm", "straight way of the lower incisal point from closed to wide open, mm"),
        ("facing_fraction", "share of the stations at which the lips stand over each other"),
    ),
    method=(
        "The jaw is closed from t = 1 in 32 steps. Upper and lower lip are the skin of base and appliances on either "
        "side of the mouth line (or the vertex groups dryfit_lip_upper and dryfit_lip_lower). At 61 stations from "
        "corner to corner, heights of the facing margins are read in columns 0.3 mm apart, refined to 0.02 mm, along "
        "the head's upright, as the interlabial gap of cephalometry is (Legan & Burstone 1980, J Oral Surg 38:744); "
        "the smallest height difference in a column is the station's gap. Contact of lower teeth with upper teeth "
        "and upper lip, of upper teeth with the lower lip and of hardware with either is looked for as interference "
        "does, with the same forgiveness: what goes no deeper than overlap_hard_review_mm grazes, a lip gives way by "
        "lip_yield_mm; what goes deeper has met where it first touched, bisected to t = 0.00002. What is there already "
        "when the jaw is wide open (roots in gums) is taken off, and so is what the performer's own teeth do without "
        "the design. Teeth follow the bones: "
        "the mandible's turn is fitted to the skin of the chin (Kabsch 1976, doi 10.1107/S0567739476001873). What a "
        "blocking piece must lose is measured from its tip to the lowest place that the other reaches on it between "
        "first contact and closed, as far as it is beside what is deeper than forgiven."
    ),
    landmarks=(*MOUTH, *FRAME),
    moves=True,
    limits=(
        "lip_seal_mm",
        "lip_gap_over_bare_mm",
        "lip_gap_review_mm",
        "lip_gap_mm",
        "lip_yield_mm",
        "overlap_hard_review_mm",
        "lip_reach_mm",
        "over_closure_mm",
        "opening_review_mm",
        "opening_mm",
        "axis_sensitivity_mm",
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
        LeadingFigure("max_opening_mm", "widest opening", "opening_mm", at_least=True),
    ),
    plots=(
        Plotted(
            "gap_by_t",
            "Gap between the lips as the jaw opens",
            (PlotLine("x", "contact_t", "first contact"), PlotLine("y", "lip_seal_mm", "shut below this")),
            own_words="largest, anywhere",
            compared=True,
        ),
        Plotted(
            "gap_along_lips",
            "Gap along the lips",
            (PlotLine("y", "lip_seal_mm", "shut below this"), PlotLine("y", "lip_gap_review_mm", "lips apart")),
        ),
    ),
    yes_no=("closes", "axis_*_flips"),
    mouth_pictures=MouthPictures.CLOSING,
    painted=(
        ("gap", "How far apart the lips stay where the jaw stops"),
        ("excess", "How much must go for the lips to meet, from where the jaw stops"),
        ("pair", "The two pieces that stop the jaw: 0 on the one, 1 on what it meets"),
    ),
)
