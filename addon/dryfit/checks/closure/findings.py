"""What is said about a mouth that does not shut as it should."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ...model.finding import Finding, Severity
from ...model.limits import Limits
from ...model.snapshot import Role
from ...performer.contact.forgiveness import Forgiveness
from ...performer.contact.shortening import Excess
from ...performer.mouth.lips import GapProfile
from ...performer.tooth_names import the
from .lip_reach import SEVERITIES, LipReach, easy_mm, farthest_mm, reach_of
from .result import ClosureResult

OVER_BARE_SHARE = 0.8
"""A design that leaves less of the bare base's opening than this is worth a word."""
PASSES = {Severity.INFO: "passes", Severity.REVIEW: "is to be looked at", Severity.FAIL: "fails"}


def closure_findings(result: ClosureResult) -> Iterator[Finding]:
    """Yield the findings, the one that stops the mouth first."""
    if result.bitten:
        yield bite(result)
    elif result.blocked:
        yield from blocking(result)
    if not result.mouth.sealed(result.closing.at_rest()):
        yield short_lips(result)
    if not result.closing.stop.facing.all():
        yield not_facing(result)
    yield from over_closed(result)
    yield from less_opening(result)
    yield from jaw_findings(result)


def gap_severity(gap_mm: float, result: ClosureResult, mildest: Severity) -> Severity:
    """Return how bad a gap is that the lips are left with."""
    severity = SEVERITIES[reach_of(gap_mm, False, result.brief.limits)]
    return mildest if severity == Severity.INFO else severity


def bite(result: ClosureResult) -> Finding:
    """Return the finding about an open mouth whose teeth meet and leave the rest to the lips."""
    contact, stop, limits = result.closing.contact, result.closing.stop, result.brief.limits
    assert contact is not None
    most_mm = max((excess.shorten_mm for excess in result.excesses), default=0.0)
    turn_deg = result.poses.jaw_angle_deg(result.poses.source.rest_t) - result.poses.jaw_angle_deg(stop.t)
    behind_mm = result.lower_lip_away_mm[1]
    return Finding(
        SEVERITIES[result.reach],
        (
            f"The jaw turns {turn_deg:.1f}° from the open pose until {the(contact.piece)} meets "
            f"{the(contact.other_name)}; the lips must close the last {stop.largest_mm:.1f} mm at the {_side(stop)} "
            f"themselves ({_ease(limits)}). At the midline the lower lip's margin then stands {abs(behind_mm):.1f} mm "
            f"{'behind' if behind_mm >= 0.0 else 'ahead of'} the upper one's."
        ),
        result.place(contact.first_name, contact.at_mm, contact.t),
        stop.largest_mm,
        limit=farthest_mm(limits) if result.reach == LipReach.OUT_OF_REACH else easy_mm(limits),
        fix=f"sculpt the lips closer by {stop.largest_mm:.1f} mm, or shorten the teeth by up to {most_mm:.1f} mm",
        elements=contact.vertices,
    )


def _ease(limits: Limits) -> str:
    easy, far = easy_mm(limits), farthest_mm(limits)
    whose = "this performer reaches" if limits.lip_reach_mm else "lips reach"
    return f"up to {easy:.1f} mm with ease, {whose} {far:.1f} mm at most"


def blocking(result: ClosureResult) -> Iterator[Finding]:
    """Yield one finding for each piece that keeps the mouth from shutting; what stops it first comes first."""
    contact = result.closing.contact
    assert contact is not None
    first = (contact.first_name, contact.piece)
    ordered = sorted(result.excesses, key=lambda excess: (excess.part_name, excess.piece) != first)
    if not ordered or (ordered[0].part_name, ordered[0].piece) != first:
        yield _stop(result, None)
    for excess in ordered:
        yield _stop(result, excess)


def _stop(result: ClosureResult, excess: Excess | None) -> Finding:
    contact, stop, limits = result.closing.contact, result.closing.stop, result.brief.limits
    assert contact is not None
    first = excess is None or (excess.part_name, excess.piece) == (contact.first_name, contact.piece)
    piece = contact.piece if excess is None else excess.piece
    other = contact.other_name if first or excess is None else excess.other_name
    at_mm = contact.at_mm if first or excess is None else excess.at_mm
    still_open = result.closed.still_open(contact.t, contact.at_mm)
    what = (
        f"{the(piece, 'The')} meets {the(other)} while the jaw is still {still_open}, and the lips stay "
        f"{stop.largest_mm:.1f} mm apart (limit {farthest_mm(limits):.1f} mm{_bare_words(result)})."
        if first or excess is None
        else f"{the(piece, 'The')} would stop the mouth too: it runs {excess.shorten_mm:.1f} mm into {the(other)}."
    )
    part = contact.first_name if excess is None else excess.part_name
    return Finding(
        gap_severity(stop.largest_mm, result, Severity.REVIEW),
        what,
        result.place(part, at_mm, contact.t if first or excess is None else 0.0),
        stop.largest_mm if first or excess is None else excess.shorten_mm,
        limit=farthest_mm(limits) if first or excess is None else Forgiveness.of(result.fitting).review_mm(excess.pair),
        fix=excess.fix if excess else f"move or shorten {the(piece)}",
        remedy="shorten",
        remedy_mm=excess.shorten_mm if excess else float("nan"),
        elements=contact.vertices if excess is None else excess.vertices,
        cause=contact.cause if excess is None else excess.cause,
    )


def _bare_words(result: ClosureResult) -> str:
    """Return what the bare lips do at the same pose, where that is the performer's own gap and not the jaw's."""
    return f"; the bare base's are {result.bare_stop.largest_mm:.1f} mm apart at that pose"


def short_lips(result: ClosureResult) -> Finding:
    """Return the finding about lips that do not meet with the jaw closed."""
    rest, limits = result.closing.at_rest(), result.brief.limits
    gap_mm, bare_mm = rest.largest_mm, result.bare_rest.largest_mm
    part = _lower_part(result)
    severity = gap_severity(gap_mm, result, Severity.INFO)
    reach = f"; they meet {_past(result)} past the closed pose" if result.closing.sealed else ""
    return Finding(
        severity,
        (
            f"With the jaw closed the lips stay {gap_mm:.1f} mm apart at the {_side(rest)}{reach} (the bare base: "
            f"{bare_mm:.1f} mm; {_ease(limits)})."
        ),
        result.place(part, rest.at_mm[rest.widest], rest.t),
        gap_mm,
        limit=farthest_mm(limits) if severity == Severity.FAIL else easy_mm(limits),
        fix=f"lengthen the lips by {max(gap_mm - max(bare_mm, 0.0), 0.0):.1f} mm between them",
        remedy="extend",
        remedy_mm=max(gap_mm - max(bare_mm, 0.0), 0.0),
        elements=_margin_vertices(result, part),
    )


def _past(result: ClosureResult) -> str:
    """Say how far past its closed pose the jaw went."""
    stop = result.closing.stop
    return result.closed.still_open(stop.t, stop.at_mm[stop.midline]).removesuffix(" open").removeprefix("-")


def not_facing(result: ClosureResult) -> Finding:
    """Return the note that the lips do not stand over each other where the jaw stopped."""
    stop = result.closing.stop
    off = int((~stop.facing).sum())
    return Finding(
        Severity.INFO,
        (
            f"At {off} of {len(stop.facing)} stations the lips do not stand over each other; there the height "
            "difference of their margins is given as the gap."
        ),
        result.place(_lower_part(result), stop.at_mm[int(np.flatnonzero(~stop.facing)[0])], stop.t),
        float(off),
        unit="stations",
    )


def over_closed(result: ClosureResult) -> Iterator[Finding]:
    """Yield a finding when the jaw must turn past closed for the lips to meet."""
    rise_mm, limits = result.over_closure_mm, result.brief.limits
    if not rise_mm > 0.0 or result.closing.contact is not None:
        return
    stop = result.closing.stop
    met = "the lips meet" if result.closing.sealed else "the lips press on each other and still do not meet everywhere"
    yield Finding(
        Severity.REVIEW if rise_mm > limits.over_closure_mm else Severity.INFO,
        (
            f"Nothing stops the jaw at its closed pose: {met} only {_past(result)} past it, with the "
            f"chin {rise_mm:.1f} mm above its place (up to {limits.over_closure_mm:.1f} mm is free)."
        ),
        result.place(_lower_part(result), stop.at_mm[stop.midline], stop.t),
        rise_mm,
        limit=limits.over_closure_mm,
        fix="add both rows of teeth, which stop a jaw, or lengthen the lips",
    )


def less_opening(result: ClosureResult) -> Iterator[Finding]:
    """Yield a finding when the design takes opening away that the bare base has."""
    limits = result.brief.limits
    opening_mm, bare_mm = result.wide.midline_mm, result.bare_wide.midline_mm
    if not opening_mm < bare_mm - limits.lip_gap_over_bare_mm:
        return
    short = opening_mm < limits.opening_mm
    tight = opening_mm < limits.opening_review_mm or opening_mm < OVER_BARE_SHARE * bare_mm
    taken_mm = bare_mm - opening_mm
    much = taken_mm > (1.0 - OVER_BARE_SHARE) * bare_mm
    severity = Severity.FAIL if short and much else Severity.REVIEW if tight and much else Severity.INFO
    yield Finding(
        severity,
        (
            f"Wide open, the lips stand {opening_mm:.1f} mm apart at the midline, {taken_mm:.1f} mm less than the "
            f"bare base's {bare_mm:.1f} mm (opening below {limits.opening_mm:.0f} mm counts as impaired)."
        ),
        result.place(_lower_part(result), result.wide.at_mm[result.wide.midline], result.wide.t),
        opening_mm,
        limit=limits.opening_mm,
        fix=f"thin the lips by {taken_mm:.1f} mm between them",
    )


def jaw_findings(result: ClosureResult) -> Iterator[Finding]:
    """Yield what is said about the jaw itself: that it found the mouth open, and what hangs on its axis."""
    if result.poses.source.rest_t > 0.0:
        yield found_open(result)
    if result.flips:
        yield hangs_on_axis(result)


def found_open(result: ClosureResult) -> Finding:
    """Return the note that the base's mouth is open in the scan and was shut by the hinge."""
    rest_t = result.poses.source.rest_t
    apart_mm, turn_deg = result.found.open_mm, result.poses.jaw_angle_deg(rest_t)
    return _finding(
        result,
        Severity.INFO,
        f"The mouth is open on the base, {apart_mm:.1f} mm at the midline. The hinge shuts it: {turn_deg:.1f}° bring "
        "the lips level at the midline, and that pose is taken as closed.",
        apart_mm,
        "state rest_deg under [motions.jaw] hinge = {} in the brief if you know how far the jaw is open here",
    )


def hangs_on_axis(result: ClosureResult) -> Finding:
    """Return the finding that a moved axis changes the answer; a pass becomes a review."""
    found = result.severity
    worst = max(result.flips, key=lambda trial: (abs(trial.severity.rank - found.rank), -trial.offset_mm))
    gaps, most_mm = [trial.gap_mm for trial in result.trials], max(trial.offset_mm for trial in result.trials)
    shift_mm = max((trial.bite_ahead_mm for trial in result.trials), key=abs)
    return _finding(
        result,
        Severity.REVIEW if found == Severity.INFO else Severity.INFO,
        f"The answer hangs on the jaw's axis: as found it {PASSES[found]} with "
        f"{result.closing.stop.largest_mm:.1f} mm left between the lips, {worst.offset_mm:g} mm "
        f"further {worst.way} it {PASSES[worst.severity]} with {worst.gap_mm:.1f} mm. Over all axes within "
        f"{most_mm:g} mm the gap is {min(gaps):.1f} to {max(gaps):.1f} mm, and the bite shifts "
        f"fore and aft by up to {abs(shift_mm):.1f} mm.",
        worst.gap_mm,
        "check the landmarks of ear and outer eye corner, or state the wearer's own axis_left_mm and axis_right_mm",
    )


def _finding(result: ClosureResult, severity: Severity, message: str, value: float, fix: str) -> Finding:
    stop, base = result.closing.stop, result.fitting.base.name
    return Finding(severity, message, result.place(base, stop.at_mm[stop.midline], stop.t), value, fix=fix)


def _lower_part(result: ClosureResult) -> str:
    """Return the worn part that makes the lower lip, or the base."""
    worn = [part.name for part in result.fitting.snapshot.with_role(Role.APPLIANCE)]
    lower = [name for name in result.mouth.lips.lower.parts if name in worn]
    return lower[0] if lower else result.fitting.base.name


def _margin_vertices(result: ClosureResult, part: str) -> np.ndarray:
    lower = result.mouth.lips.lower
    piece = lower.pieces[lower.parts.index(part)] if part in lower.parts else lower.pieces[0]
    rest = result.closing.at_rest()
    far_mm = np.linalg.norm(piece.vertices(0.0)[:, None, :] - rest.at_mm[None, :, :], axis=2).min(axis=1)
    return np.asarray(piece.vertex_ids[0][far_mm <= max(rest.largest_mm, 0.0) + 2.0])


def _side(profile: GapProfile) -> str:
    across_mm = float(profile.across_mm[profile.widest])
    half = 0.25 * float(profile.across_mm.max() - profile.across_mm.min()) / 2.0
    if abs(across_mm) <= half:
        return "midline"
    return f"{'left' if across_mm > 0 else 'right'} side, {abs(across_mm):.0f} mm from the midline"
