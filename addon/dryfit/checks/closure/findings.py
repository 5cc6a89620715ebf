"""What is said about a mouth that does not shut as it should."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ...geometry.rows import row_lows, row_norms
from ...model.finding import Finding, Severity
from ...model.limits import Limits
from ...model.snapshot import Role
from ...performer.contact.forgiveness import Forgiveness
from ...performer.contact.shortening import Excess
from ...performer.head_frame import UPRIGHTS
from ...performer.mouth.edges import EDGE_MM
from ...performer.mouth.lips import GapProfile
from ...performer.mouth.tooth_places import row_alone
from ...performer.tooth_names import the
from .lip_reach import SEVERITIES, LipReach, easy_mm, farthest_mm, reach_of
from .result import ClosureResult, incisal_opening_mm
from .verdict import ClosingVerdict

OVER_BARE_SHARE = 0.8
"""A design that leaves less of the bare base's opening than this is worth a word."""


def closure_findings(result: ClosureResult) -> Iterator[Finding]:
    """Yield the findings, the one that stops the mouth first."""
    if result.bitten:
        yield bite(result)
    elif result.blocked:
        yield from blocking(result)
    if not result.mouth.sealed(result.closing.at_rest()) and _by_design(result):
        yield short_lips(result)
    if not result.closing.stop.facing.all():
        yield not_facing(result)
    yield from over_closed(result)
    yield from less_opening(result)
    yield from up_unsure(result)
    yield from one_row(result)
    yield from jaw_findings(result)


def _by_design(result: ClosureResult) -> bool:
    """Tell whether lips that stay apart closed are the design's doing, where the bare face's own say nothing."""
    more_mm = result.closing.at_rest().longest_mm - result.bare_rest.longest_mm
    return result.verdict != ClosingVerdict.UNJUDGED or more_mm > result.brief.limits.lip_gap_over_bare_mm


def way_severity(profile: GapProfile, result: ClosureResult, mildest: Severity) -> Severity:
    """Return how bad a way is that the lips are left with."""
    severity = SEVERITIES[reach_of(profile.longest_mm, False, result.brief.limits)]
    return result.tempered(severity.or_worse(mildest))


def _way_decides(profile: GapProfile, limits: Limits) -> bool:
    """Tell whether the lips' way asks more of them than their gap does."""
    return reach_of(profile.longest_mm, False, limits) != reach_of(profile.largest_mm, False, limits)


def _apart(profile: GapProfile, limits: Limits) -> str:
    """Return how far lips are apart, in words; their way beside it where that decides."""
    way = f" ({profile.longest_mm:.1f} mm on the shortest way)" if _way_decides(profile, limits) else ""
    return f"{profile.largest_mm:.1f} mm{way}"


def _judged_mm(profile: GapProfile, limits: Limits) -> float:
    """Return the figure that decided: the gap, or the way between the lips."""
    return profile.longest_mm if _way_decides(profile, limits) else profile.largest_mm


def bite(result: ClosureResult) -> Finding:
    """Return the finding about an open mouth whose teeth meet and leave the rest to the lips."""
    contact, stop, limits = result.closing.contact, result.closing.stop, result.brief.limits
    assert contact is not None
    most_mm = max((excess.shorten_mm for excess in result.excesses), default=0.0)
    turn_deg = result.poses.jaw_angle_deg(result.poses.source.rest_t) - result.poses.jaw_angle_deg(stop.t)
    return Finding(
        result.tempered(SEVERITIES[result.reach]),
        (
            f"The jaw turns {turn_deg:.1f}° from the open pose until {the(contact.piece)} meets "
            f"{the(contact.other_name)}; the lips must close the last {_apart(stop, limits)} at the {_side(stop)} "
            f"themselves ({_ease(limits)}). At the midline the lower lip's margin then stands {_behind(result)}."
        ),
        result.place(contact.first_name, contact.at_mm, contact.t),
        _judged_mm(stop, limits),
        limit=farthest_mm(limits) if result.reach == LipReach.OUT_OF_REACH else easy_mm(limits),
        fix=f"sculpt the lips closer by {stop.largest_mm:.1f} mm, or shorten the teeth by up to {most_mm:.1f} mm",
        elements=contact.vertices,
    )


def _behind(result: ClosureResult) -> str:
    """Return where the lower lip stands against the upper one, in words, with what another hinge may make of it."""
    least_mm, most_mm = result.behind_bounds_mm
    bounds = f" (on another hinge from {_ahead(least_mm)} to {_ahead(most_mm)} it)" if result.trials else ""
    return f"{_ahead(result.lower_lip_away_mm[1])} the upper one's{bounds}"


def _ahead(behind_mm: float) -> str:
    return f"{abs(behind_mm):.1f} mm {'behind' if behind_mm >= 0.0 else 'ahead of'}"


def _ease(limits: Limits) -> str:
    easy, far = easy_mm(limits), farthest_mm(limits)
    whose = "this performer reaches" if limits.lip_reach_mm else "lips are taken to reach"
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
        f"{_apart(stop, limits)} apart (limit {farthest_mm(limits):.1f} mm{_bare_words(result)})."
        if first or excess is None
        else f"{the(piece, 'The')} would stop the mouth too, on {the(other)}: it must lose {excess.shorten_mm:.1f} mm."
    )
    part = contact.first_name if excess is None else excess.part_name
    return Finding(
        way_severity(stop, result, Severity.REVIEW),
        what,
        result.place(part, at_mm, contact.t if first or excess is None else 0.0),
        _judged_mm(stop, limits) if first or excess is None else excess.shorten_mm,
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
    severity = way_severity(rest, result, Severity.INFO)
    reach = f"; they meet {_past(result)} past the closed pose" if result.closing.sealed else ""
    return Finding(
        severity,
        (
            f"With the jaw closed the lips stay {_apart(rest, limits)} apart at the {_side(rest)}{reach} (the bare "
            f"base: {bare_mm:.1f} mm; {_ease(limits)})."
        ),
        result.place(part, rest.at_mm[rest.widest], rest.t),
        _judged_mm(rest, limits),
        limit=farthest_mm(limits) if rest.longest_mm > farthest_mm(limits) else easy_mm(limits),
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
    off, (way_mm, behind_mm) = int((~stop.facing).sum()), stop.off_mm
    return Finding(
        Severity.INFO,
        (
            f"At {off} of {len(stop.facing)} stations the lips do not stand over each other: there the gap is a "
            f"height, while the way between them is up to {way_mm:.1f} mm, up to {behind_mm:.1f} mm of it fore and aft."
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
        result.tempered(Severity.REVIEW if rise_mm > limits.over_closure_mm else Severity.INFO),
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
    edges_mm, taken_mm = incisal_opening_mm(result, 1.0), bare_mm - opening_mm
    much = taken_mm > (1.0 - OVER_BARE_SHARE) * bare_mm
    short, tight = edges_mm < limits.opening_mm, edges_mm < limits.opening_review_mm
    severity = Severity.FAIL if short and much else Severity.REVIEW if tight or much else Severity.INFO
    yield Finding(
        severity,
        (
            f"Wide open, the lips stand {opening_mm:.1f} mm apart at the midline, {taken_mm:.1f} mm less than the "
            f"bare base's {bare_mm:.1f} mm. {_between_edges(edges_mm, limits)}"
        ),
        result.place(_lower_part(result), result.wide.at_mm[result.wide.midline], result.wide.t),
        opening_mm,
        limit=OVER_BARE_SHARE * bare_mm,
        fix=f"thin the lips by {taken_mm:.1f} mm between them",
    )


def _between_edges(edges_mm: float, limits: Limits) -> str:
    """Return the opening that published limits are about, in words."""
    if np.isnan(edges_mm):
        return (
            f"Between the incisal edges, where below {limits.opening_mm:.0f} mm counts as impaired, nothing could be "
            "measured: there are not both rows of teeth."
        )
    return f"Between the incisal edges it is {edges_mm:.1f} mm (below {limits.opening_mm:.0f} mm counts as impaired)."


def one_row(result: ClosureResult) -> Iterator[Finding]:
    """Yield a finding where the design has one row of teeth and nothing is known of what it bites on."""
    alone = row_alone(result.fitting)
    if alone is None or result.blocked:
        return
    part, missing = alone
    yield Finding(
        Severity.REVIEW,
        f"There are no {missing} teeth, so nobody can tell whether '{part.name}' meets the performer's own before the "
        "lips close.",
        result.place(part.name, part.vertices_mm[np.unique(part.faces)].mean(axis=0), 0.0),
        1.0,
        unit="count",
        fix=f"add the performer's own {missing} teeth, marked as their own, or those of the design",
    )


def up_unsure(result: ClosureResult) -> Iterator[Finding]:
    """Yield a note where up is read from other landmarks than it should be: by how much that may be off.

    The bare base's opening is read with the same up, so what a design takes of it is judged all the same.
    """
    frame, opening_mm = result.mouth.lips.frame, result.wide.midline_mm
    if frame.read_from is None or not frame.off_deg or not np.isfinite(opening_mm):
        return
    lean = np.radians(frame.off_deg)
    below_mm, behind_mm = result.mouth.lower_lip_away_mm(1.0)
    # Of the facing edges, as deep as EDGE_MM, another place may then be the one that is measured.
    off_mm = float(abs(below_mm) * (1.0 - np.cos(lean)) + (abs(behind_mm) + EDGE_MM) * np.sin(lean))
    pair = frame.read_from
    lacking = " and ".join(name for name in UPRIGHTS[0].names if name not in result.fitting.snapshot.landmarks)
    yield _finding(
        result,
        Severity.INFO,
        f"There is no {lacking}, so which way is up is read from {pair.top} and {pair.low} and may be off by "
        f"{pair.off_deg:.0f}°: the widest opening of {opening_mm:.1f} mm is between {opening_mm - off_mm:.1f} and "
        f"{opening_mm + off_mm:.1f} mm.",
        off_mm,
        f"place {lacking}",
    )


def jaw_findings(result: ClosureResult) -> Iterator[Finding]:
    """Yield what is said about the jaw itself: that it found the mouth open, and what hangs on its hinge."""
    if result.poses.source.rest_t > 0.0:
        yield found_open(result)
    for of_axis in (True, False):
        if any(trial.of_axis == of_axis for trial in result.flips):
            yield hangs_on_hinge(result, of_axis)


def found_open(result: ClosureResult) -> Finding:
    """Return the note that the base's mouth is open in the scan and was shut by the hinge."""
    rest_t = result.poses.source.rest_t
    apart_mm, turn_deg = result.found.open_mm, result.poses.jaw_angle_deg(rest_t)
    return _finding(
        result,
        Severity.INFO,
        f"The mouth is open on the base, {apart_mm:.1f} mm at the midline. The hinge shuts it: {turn_deg:.1f}° bring "
        f"the lips level at the midline, and that pose is taken as closed. Where the jaw stops, the lower lip's margin "
        f"stands {_behind(result)}.",
        apart_mm,
        "state rest_deg under [motions.jaw] hinge = {} in the brief if you know how far the jaw is open here",
    )


def hangs_on_hinge(result: ClosureResult, of_axis: bool) -> Finding:
    """Return the finding that another axis, or another slide, changes the answer; what would pass is to be reviewed."""
    found, tried = result.verdict, [trial for trial in result.trials if trial.of_axis == of_axis]
    flips = [trial for trial in tried if trial.verdict != found]
    worst = max(flips, key=lambda trial: (trial.judged, abs(trial.verdict.rank - found.rank), -trial.change.offset_mm))
    ways_mm = [result.closing.stop.longest_mm, *(trial.way_mm for trial in tried)]
    shift_mm = max((trial.bite_ahead_mm for trial in tried), key=abs)
    which = f"axes within {max(trial.change.offset_mm for trial in tried):g} mm" if of_axis else "slides tried"
    return _finding(
        result,
        Severity.REVIEW if found in (ClosingVerdict.PASSES, ClosingVerdict.UNJUDGED) else Severity.INFO,
        f"The answer hangs on the jaw's {'axis' if of_axis else 'slide'}: as found it {found}, with "
        f"{ways_mm[0]:.1f} mm left between the lips; {worst.change.words} it {worst.verdict}, with {worst.way_mm:.1f} "
        f"mm. Over all {which} {min(ways_mm):.1f} to {max(ways_mm):.1f} mm are left, and the bite shifts fore and aft "
        f"by up to {abs(shift_mm):.1f} mm.",
        worst.way_mm,
        "check the landmarks of ear and outer eye corner, or state the wearer's own axis_left_mm and axis_right_mm"
        if of_axis
        else "state the wearer's own slide_deg_per_mm, with slide_sensitivity = 0 under [limits] once it is known",
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
    far_mm = row_lows(row_norms(piece.vertices(0.0)[:, None, :] - rest.at_mm[None, :, :]))
    return np.asarray(piece.vertex_ids[0][far_mm <= max(rest.largest_mm, 0.0) + 2.0])


def _side(profile: GapProfile) -> str:
    across_mm = float(profile.across_mm[profile.widest])
    half = 0.25 * float(profile.across_mm.max() - profile.across_mm.min()) / 2.0
    if abs(across_mm) <= half:
        return "midline"
    return f"{'left' if across_mm > 0 else 'right'} side, {abs(across_mm):.0f} mm from the midline"
