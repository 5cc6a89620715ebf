"""What is said about things that run into each other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...model.arrays import FloatArray, IntArray
from ...model.finding import Field, Finding, Severity
from ...model.limits import basis_of
from ...model.snapshot import Role
from ...performer.contact.body import Body, Matter
from ...performer.contact.course import Course, Span
from ...performer.contact.forgiveness import LIMIT_NAMES, Forgiveness
from ...performer.contact.pairs import Give
from ...performer.contact.shortening import Excess
from ...performer.fitting import Fitting
from ...performer.motion.base_motion import JAW
from ...performer.tooth_names import plain_name, the
from .meetings import Meeting

MOST_NAMED = 3
"""So many of the own teeth's meetings are named; the rest are counted."""
TEETH = (Role.UPPER_TEETH, Role.LOWER_TEETH)


def finding_of(meeting: Meeting, fitting: Fitting, stopper: Excess | None) -> Finding:
    """Return the finding about one meeting.

    Parameters
    ----------
    meeting
        Who meets whom.
    fitting
        The design.
    stopper
        What the same piece must lose for the mouth to close, where it is in the way of that; else None.
    """
    forgiven = Forgiveness.of(fitting)
    failed = meeting.depth_mm > forgiven.fail_mm(meeting.pair)
    limit_mm = forgiven.fail_mm(meeting.pair) if failed else forgiven.review_mm(meeting.pair)
    posed_mm, rest_mm = meeting.deepest_place()
    part, motion = meeting.pair.first.part, meeting.encounter.motion
    place = fitting.place(part.name, posed_mm, rest_mm=rest_mm, motion=motion, t=meeting.overlap.t)
    basis = basis_of(LIMIT_NAMES[meeting.pair.give][failed])
    where = "" if part.role in TEETH else f" at the {place.region}"
    return Finding(
        severity=Severity.FAIL if failed else Severity.REVIEW,
        message=(
            f"{the(meeting.name, 'The')} runs {meeting.depth_mm:.1f} mm into {the(meeting.other_name)}{where}, "
            f"deepest at {place.motion} {place.t:.2f} (limit {limit_mm:.1f} mm, {basis}){span_words(meeting)}."
            f"{'' if stopper is None else stopping_words(stopper)}"
        ),
        place=place,
        value=meeting.depth_mm,
        limit=limit_mm,
        fix=fix_words(meeting, place.region) if stopper is None else stopper.fix,
        elements=meeting.vertices(),
        cause="" if stopper is None else stopper.cause,
    )


def stopping_words(stopper: Excess) -> str:
    """Return that a meeting is what stops the mouth, as a sentence more."""
    return (
        " That is the shortest way out; it is what keeps the mouth from shutting in closure, where the piece must lose "
        f"{stopper.shorten_mm:.1f} mm."
    )


def span_words(meeting: Meeting) -> str:
    """Return from where to where two things touch, as the end of a sentence."""
    span, motion = meeting.span, meeting.span_motion
    if span.low is None and span.high is None:
        return "; it is in the way at every pose of that motion"
    how = "go in too deep" if meeting.pair.give in (Give.FLESH, Give.LIP) else "touch"
    if span.low is not None and span.high is not None:
        return f"; they {how} from {motion} {span.low:.3f} to {span.high:.3f}"
    if span.low is None:
        closing = "closing, " if motion == JAW else ""
        return f"; {closing}they {how} from {motion} {span.high:.3f} down to 0"
    return f"; they {how} from {motion} {span.low:.3f} on"


def start_t(span: Span) -> float:
    """Return where a stretch of touching begins: the one end that lies inside the motion, or the lower of two."""
    ends = [end for end in (span.low, span.high) if end is not None]
    return ends[0] if ends else float("nan")


def fix_words(meeting: Meeting, region: str) -> str:
    """Return what would mend a meeting, with the figure."""
    amount = f"{meeting.depth_mm:.1f} mm"
    one, other = the(meeting.name), the(meeting.other_name)
    return {
        Give.HARD: f"part {one} and {other} by {amount}, or take it off where they meet",
        Give.FLESH: f"take {amount} off {one}, or give {other} that much room",
        Give.LIP: f"take {amount} off {one}, or give {other} that much room",
        Give.SOFT: f"thin {one} or {other} by {amount} at the {region}",
    }[meeting.pair.give]


def seam_note(courses: Sequence[Course], fitting: Fitting) -> Finding | None:
    """Return what is said of two worn pieces that share space at every pose, or None.

    A seam lies within what soft pieces give way by; deeper, somebody has to say which of the two makes room.
    """
    pair, usual, limits = courses[0].encounter.pair, courses[0].usual_mm, fitting.brief.limits
    deepest_mm = float(usual.max())
    if pair.give != Give.SOFT or deepest_mm <= limits.overlap_soft_review_mm:
        return None
    place = int(usual.argmax())
    count = len(pair.first.anchor)
    body, place = (pair.first, place) if place < count else (pair.second, place - count)
    own = pair.first.anchor[np.flatnonzero(usual[:count] > limits.contact_mm)]
    deep = deepest_mm > limits.overlap_soft_mm
    one, other = plain_name(pair.first.part), plain_name(pair.second.part)
    bound = f" (limit {limits.overlap_soft_mm:.1f} mm, {basis_of('overlap_soft_mm')})" if deep else ""
    return Finding(
        severity=Severity.REVIEW if deep else Severity.INFO,
        message=(
            f"{one} and {other} share space, up to {deepest_mm:.1f} mm deep, at every pose{bound}: a seam or one over "
            "the other. Make sure the one beneath is cast thinner there."
        ),
        place=fitting.place(pair.first.part.name, body.rest_point_mm(place)),
        value=deepest_mm,
        limit=limits.overlap_soft_mm if deep else float("nan"),
        fix=f"cut {one} back where {other} lies, or the other way round" if deep else "",
        elements=np.unique(pair.first.vertex_ids[own]),
    )


def own_note(meetings: Sequence[Meeting], fitting: Fitting) -> list[Finding]:
    """Return the one note on what the performer's own teeth run into without the design; none where they do not."""
    if not meetings:
        return []
    worst = max(meetings, key=lambda meeting: (meeting.depth_mm, meeting.name))
    posed_mm, rest_mm = worst.deepest_place()
    pairs = sorted({(the(meeting.name), the(meeting.other_name)) for meeting in meetings})
    said = "; ".join(f"{one} in {other}" for one, other in pairs[:MOST_NAMED])
    more = f"; and {len(pairs) - MOST_NAMED} more" if len(pairs) > MOST_NAMED else ""
    part, motion, t = worst.pair.first.part.name, worst.encounter.motion, worst.overlap.t
    note = Finding(
        severity=Severity.INFO,
        message=(
            f"The bare head's own teeth run up to {worst.depth_mm:.1f} mm into each other or into its lips, at "
            f"{motion} {t:.2f} ({said}{more}). They do so without the design; only what the design adds was judged."
        ),
        place=fitting.place(part, posed_mm, rest_mm=rest_mm, motion=motion, t=t),
        value=worst.depth_mm,
        elements=worst.vertices(),
    )
    return [note]


def overlap_fields(meetings: Sequence[Meeting], forgiven: Forgiveness) -> tuple[Field, ...]:
    """Return how deep each part is in something at the pose of its deepest meeting, for paint."""
    fields: dict[str, Field] = {}
    for meeting in sorted(meetings, key=lambda each: -each.depth_mm):
        for part_name, values in _depth_by_part(meeting).items():
            if part_name not in fields:
                fail_mm = forgiven.fail_mm(meeting.pair)
                high = max(float(np.nanmax(values)), fail_mm)
                fields[part_name] = Field(
                    "overlap", part_name, values, "mm", "depth inside something else", 0.0, high, fail_mm,
                    motion=meeting.encounter.motion, t=meeting.overlap.t,
                )  # fmt: skip
    return tuple(fields.values())


def _depth_by_part(meeting: Meeting) -> dict[str, FloatArray]:
    """Return both parts of a meeting with how deep they go, nan where they do not.

    What lies inside something cannot be seen, so rigid pieces carry their depth all over, tooth by tooth.
    """
    points, depth_mm, count = meeting.overlap.points, meeting.overlap.depth_mm, len(meeting.pair.first.anchor)
    own = points < count
    first, second = meeting.pair.first, meeting.pair.second
    faces = {True: first.faces, False: second.faces}
    met = [first.anchor[points[own]], faces[True][meeting.overlap.onto[~own], 0]]
    other = [faces[False][meeting.overlap.onto[own], 0], second.anchor[points[~own] - count]]
    depths = [np.concatenate([depth_mm[own], depth_mm[~own]])] * 2
    return {
        body.part.name: _spread(body, np.concatenate(vertices), depth)
        for body, vertices, depth in zip((first, second), (met, other), depths, strict=True)
    }


def _spread(body: Body, vertices: IntArray, depth_mm: FloatArray) -> FloatArray:
    """Return depths at some used vertices of a body as values on its part ``(n,)``, over whole pieces where rigid."""
    values = np.full(len(body.part.vertices_mm), -np.inf)
    if body.matter == Matter.RIGID:
        deepest = np.full(len(body.pieces), -np.inf)
        np.maximum.at(deepest, body.piece[vertices], depth_mm)
        values[body.vertex_ids] = deepest[body.piece]
    else:
        np.maximum.at(values, body.vertex_ids[vertices], depth_mm)
    return np.where(np.isfinite(values), values, np.nan)
