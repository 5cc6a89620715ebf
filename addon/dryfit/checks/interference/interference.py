"""Do parts run into each other while the face moves? How deep, where, and from which pose on."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...model.brief import Brief
from ...model.finding import Curve, Outcome, not_checked
from ...model.progress import Job, saying, within
from ...model.sentences import paired
from ...model.snapshot import Role
from ...performer.closing import ClosedMouth, known_closing
from ...performer.contact.body import Indexes, PosedBodies
from ...performer.contact.course import Course, always_mm
from ...performer.contact.encounter import Encounter, Overlap
from ...performer.contact.forgiveness import Forgiveness
from ...performer.contact.looking import looked_at
from ...performer.contact.pairs import LIPS, Give, Pair, known_company
from ...performer.contact.shortening import Excess
from ...performer.fitting import Fitting
from ...performer.grounds import MOUTH
from ...performer.motion.base_motion import JAW
from ...performer.mouth.tooth_places import odd_findings
from ..check import Check, LeadingFigure, Plotted
from .findings import finding_of, overlap_fields, own_note, seam_note, start_t
from .meetings import Meeting, meetings_of

JAW_STEPS, OTHER_STEPS = 16, 8
"""Poses between the ends of the jaw's motion, and of any other, at which overlap is looked for."""
NO_MOTION = (
    "nothing moves. Add shape keys under [motions] in the brief, or the landmarks tragion_left, tragion_right, "
    "exocanthion_left and exocanthion_right with those of the mouth for a jaw."
)
NO_PAIRS = (
    "there are no two things that could meet. Give teeth the roles 'upper_teeth' and 'lower_teeth', rigid pieces "
    "'hardware', and pieces 'appliance'."
)

NEVER_APART = (
    "No motion moves the upper and the lower teeth against each other ({rows}), so whether they meet is not known. "
    "Check the keys of the jaw."
)
ROWS = {Role.UPPER_TEETH, Role.LOWER_TEETH}

Seen = dict[Pair, list[tuple[Encounter, Sequence[Overlap]]]]
"""For each pair, one entry for each motion in which it moves: the encounter, and what was seen at each pose."""


def measure_interference(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Move every motion through its poses and look what meets; the job of ``CHECK``."""
    if not fitting.motion_names:
        return not_checked(NO_MOTION)
    company = yield from known_company(fitting)
    if not company.pairs:
        return not_checked(" ".join(company.missing) or NO_PAIRS)
    closed = yield from known_closing(fitting)
    seen = yield from look_through(fitting, company.pairs, closed)
    courses = [courses_of(rows, fitting) for rows in seen.values()]
    met = [each for each in courses if any(course.crossing.any() or course.firm.any() for course in each)]
    designed = [each for each in met if not each[0].encounter.pair.own]
    meetings = [meeting for each in designed for meeting in meetings_of(each)]
    meetings.sort(key=lambda meeting: (-meeting.depth_mm, meeting.name))
    findings = [finding_of(meeting, fitting, stopper_in(meeting, closed)) for meeting in meetings]
    findings.sort(key=lambda finding: (finding.severity.rank, -finding.value))
    notes = [note for note in (seam_note(each, fitting) for each in designed) if note is not None]
    notes += own_note([meeting for each in met if each[0].encounter.pair.own for meeting in meetings_of(each)], fitting)
    return Outcome(
        measures=measures(len(company.pairs), fitting.motion_names, designed, meetings, closed),
        findings=(*findings, *odd_findings(fitting), *notes),
        curves=curves(fitting.motion_names, designed),
        fields=overlap_fields(meetings, Forgiveness.of(fitting)),
        reason=" ".join([*company.missing, *_never_apart(company.pairs, seen)]),
    )


def _never_apart(pairs: Sequence[Pair], seen: Seen) -> list[str]:
    """Return a sentence where rows of teeth that come near each other never move against each other."""
    still = [pair for pair in pairs if pair not in seen and {pair.first.part.role, pair.second.part.role} == ROWS]
    names = sorted({f"'{pair.first.part.name}' and '{pair.second.part.name}'" for pair in still})
    return [NEVER_APART.format(rows=", ".join(names))] if names else []


def stopper_in(meeting: Meeting, closed: ClosedMouth | None) -> Excess | None:
    """Return what the piece of a meeting must lose for the mouth to close, where it is that which is in the way."""
    if closed is None or not closed.blocked:
        return None
    pair, about = meeting.pair, (meeting.pair.first.part.name, meeting.name)
    for excess in closed.excesses:
        same = excess.pair.second.part is pair.second.part and excess.pair.second.name in (pair.second.name, *LIPS)
        if (excess.part_name, excess.piece) == about and same and (pair.give != Give.LIP or excess.pair is pair):
            return excess
    return None


def look_through(fitting: Fitting, pairs: Sequence[Pair], closed: ClosedMouth | None) -> Job[Seen]:
    """Look at every pair at the poses of every motion in which its two move against each other.

    What was looked at to close the mouth is not looked at again.
    """
    indexes: Indexes = {}
    seen: Seen = {pair: [] for pair in pairs}
    names = fitting.motion_names
    for number, name in enumerate(names):
        known = closed.mouth.stops.by_pair() if closed is not None and name == JAW else {}
        for pair in (pair for pair in pairs if pair in known):
            seen[pair].append((known[pair].encounter, known[pair].overlaps))
        times = np.linspace(0.0, 1.0, (JAW_STEPS if name == JAW else OTHER_STEPS) + 1).tolist()
        others = (pair for pair in pairs if pair not in known)
        looking = looked_at(fitting, others, PosedBodies(fitting.poses(name), indexes), times)
        looked = yield from within(saying(f"looking for what meets in {name}", looking), number, len(names))
        for encounter, row in looked:
            seen[encounter.pair].append((encounter, row))
    return {pair: rows for pair, rows in seen.items() if rows}


def courses_of(seen: Sequence[tuple[Encounter, Sequence[Overlap]]], fitting: Fitting) -> tuple[Course, ...]:
    """Return one pair's courses through its motions, each with what is usual in all of them."""
    usual, pair = always_mm(seen), seen[0][0].pair
    forgiven_mm, contact_mm = Forgiveness.of(fitting).review_mm(pair), fitting.brief.limits.contact_mm
    return tuple(Course(encounter, tuple(row), usual, forgiven_mm, contact_mm) for encounter, row in seen)


def measures(
    pair_count: int,
    motions: Sequence[str],
    met: Sequence[Sequence[Course]],
    meetings: Sequence[Meeting],
    closed: ClosedMouth | None,
) -> dict[str, float | str]:
    """Return the figures of the check."""
    worst = meetings[0] if meetings else None
    figures: dict[str, float | str] = {
        "max_penetration_mm": max((_peak_mm(each) for each in met), default=0.0),
        "pairs": float(len({(meeting.name, meeting.other_name) for meeting in meetings})),
        "worst_pair": paired(worst.name, worst.other_name) if worst else "",
        "worst_motion": worst.encounter.motion if worst else "",
        "worst_t": float(worst.overlap.t) if worst else np.nan,
        **_start(worst, closed),
        "pairs_watched": float(pair_count),
        "motions": ", ".join(motions),
    }
    if worst:
        figures["max_penetration_mm"] = max(float(figures["max_penetration_mm"]), worst.depth_mm)
    for gives, name in (((Give.HARD,), "hard"), ((Give.FLESH, Give.LIP), "flesh"), ((Give.SOFT,), "soft")):
        depths = [_peak_mm(each) for each in met if each[0].encounter.pair.give in gives]
        figures[f"{name}_penetration_mm"] = max(depths, default=0.0)
    return figures


def _start(worst: Meeting | None, closed: ClosedMouth | None) -> dict[str, float | str]:
    """Return what meets first: what stops the closing jaw, where something does, else the deepest."""
    contact = closed.closing.contact if closed is not None and closed.blocked else None
    if contact is not None:
        pair = paired(contact.piece, contact.other_name)
        return {"start_motion": JAW, "start_t": contact.t, "start_pair": pair}
    return {
        "start_motion": worst.span_motion if worst else "",
        "start_t": start_t(worst.span) if worst else np.nan,
        "start_pair": paired(worst.name, worst.other_name) if worst else "",
    }


def _peak_mm(courses: Sequence[Course]) -> float:
    return max(float(course.table_mm.max(initial=0.0)) for course in courses)


def curves(motions: Sequence[str], met: Sequence[Sequence[Course]]) -> dict[str, Curve]:
    """Return for each motion in which anything met the deepest overlap at each pose looked at."""
    found = {}
    for motion in motions:
        rows = [course for each in met for course in each if course.motion == motion]
        if rows:
            looked = np.unique(np.concatenate([course.looked_t for course in rows]))
            depths = [np.interp(looked, course.looked_t, course.table_mm.max(axis=1, initial=0.0)) for course in rows]
            found[f"overlap_by_t_{motion}"] = Curve(
                tuple(looked.tolist()),
                tuple(np.max(depths, axis=0).tolist()),
                f"{motion}, t from 0 to 1",
                "deepest overlap, mm",
            )
    return found


CHECK = Check(
    id="interference",
    question="Do parts run into each other while the face moves?",
    measure=measure_interference,
    measured=(
        ("max_penetration_mm", "deepest that anything goes into anything else, beyond what is there at every pose, mm"),
        ("pairs", "how many pairs of teeth, pieces and lips go deeper than the lower limit"),
        ("worst_pair, worst_motion, worst_t", "the deepest of them, and the pose at which it is deepest"),
        (
            "start_pair, start_motion, start_t",
            "what meets first, and from which t of which motion on (on flesh: goes deeper than is allowed): what stops "
            "the closing jaw, as closure says it; where nothing does, the deepest pair",
        ),
        ("hard_penetration_mm", "deepest of teeth and hardware in each other, mm"),
        ("flesh_penetration_mm", "deepest of teeth in lips, and of teeth and hardware in skin or soft pieces, mm"),
        ("soft_penetration_mm", "deepest of one worn piece in another, mm"),
        ("pairs_watched, motions", "how much was looked at"),
    ),
    method=(
        "Every motion is gone through, a jaw on its hinge too where no keys move it: what can stop the jaw in 33 "
        "poses, else the jaw in 17 and others in 9, with more where one rigid body passes through another between two. "
        "Looked at are teeth and hardware against each other, teeth against the lips, both against worn pieces, "
        "hardware against the skin, and worn pieces against each other, where the boxes they sweep come near. Depth is "
        "the shortest way out of the other body, from each vertex and from the balls that fill a rigid body (the "
        "penetration depth of collision detection, Cameron 1997, doi 10.1109/ROBOT.1997.606761), so that flush walls "
        "and bodies wholly inside another count; of flesh and open meshes only what belongs to pieces whose triangles "
        "cross. A worn skin reaches as deep as it stands over the base. What a vertex is deep at every pose of every "
        "motion is taken off: roots in gums, mounts in skin, seams. Where a pose between two looked at may be deeper "
        "it is found by golden section (Kiefer 1953, doi 10.1090/S0002-9939-1953-0055639-3). What goes deeper than is "
        "forgiven has met where its place first touched, bisected to t = 0.00002; what does not only grazes. closure "
        "stops the jaw by the same contact, and a finding of the same cause says so. What the performer's own teeth do "
        "by themselves is noted once. The base against itself (lips, lids, skin folds) and a worn piece against the "
        "skin it is glued to are not looked at."
    ),
    landmarks=MOUTH,
    moves=True,
    limits=(
        "overlap_hard_review_mm",
        "overlap_hard_mm",
        "overlap_flesh_review_mm",
        "overlap_flesh_mm",
        "overlap_soft_review_mm",
        "overlap_soft_mm",
        "lip_yield_mm",
        "contact_mm",
    ),
    blind_spots=(
        "What sits deep in something at every pose is not seen, nor soft pieces that pass through something between "
        "two poses, nor open meshes that lie wholly inside something and cross nothing. Two rigid sheets both thinner "
        "than overlap_hard_review_mm pass for a graze. Flesh and soft pieces do not give way here; they overlap, and "
        "the limits say how much of that they take up. The tongue, the inside of the cheeks and a piece against other "
        "skin than its own are not looked at; lids have their own check. Motions made together (a smile with the mouth "
        "open) are not tried."
    ),
    leading=(
        LeadingFigure("hard_penetration_mm", "teeth and hardware in each other", "overlap_hard_mm"),
        LeadingFigure("flesh_penetration_mm", "pressed into lips, skin or soft pieces", "overlap_flesh_mm"),
        LeadingFigure("soft_penetration_mm", "worn pieces in each other", "overlap_soft_mm"),
    ),
    plots=(Plotted("overlap_by_t", "Deepest overlap in each motion"),),
    painted=(("overlap", "How deep it goes into something else, at the pose where it is deepest"),),
)
