"""What is said about teeth that show more than they should."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from ...model.finding import Finding, Place, Severity
from ...performer.tooth_names import the
from .showing import Showing, ShownTooth, seen_elements


def coverage_findings(showing: Showing) -> list[Finding]:
    """Return one finding for each tooth that shows more than it should, the tallest first.

    Teeth that show only because something holds the mouth open are one finding: they have one cause.
    """
    over = [tooth for tooth in showing.teeth() if tooth.height_mm > tooth.least_mm]
    held = [tooth for tooth in over if showing.stopped and tooth.closed_mm <= tooth.least_mm]
    found = [_finding(showing, tooth) for tooth in over if tooth not in held]
    found = sorted(found, key=lambda finding: (-finding.value, finding.message))
    return [*found, *_held_open(showing, held), *_own(showing), *_meant(showing)]


def _finding(showing: Showing, tooth: ShownTooth) -> Finding:
    look, name = showing.look, tooth.row.teeth.names[tooth.number]
    over_mm = tooth.height_mm - tooth.least_mm
    lip = "lengthen the upper lip" if tooth.is_upper else "raise the lower lip"
    return Finding(
        severity=_severity(tooth),
        message=(
            f"{the(name, 'The')} shows {tooth.height_mm:.1f} mm {look.pose.words}, seen from "
            f"{look.views[tooth.view].words} (limit {tooth.allowed.height_mm:.1f} mm: {tooth.allowed.meaning}); past "
            f"the bare base's lips it would show {tooth.bare_mm:.1f} mm."
        ),
        place=_place(showing, tooth),
        value=tooth.height_mm,
        limit=tooth.allowed.height_mm,
        fix=f"{lip} by {over_mm:.1f} mm or shorten {the(name)} by {over_mm:.1f} mm",
        remedy="extend",
        remedy_mm=over_mm,
        elements=_vertices(tooth),
    )


def _severity(tooth: ShownTooth) -> Severity:
    return Severity.FAIL if tooth.fails else Severity.REVIEW


def _held_open(showing: Showing, held: Sequence[ShownTooth]) -> Iterator[Finding]:
    """Yield the one finding about teeth that show because the jaw is stopped and would not with it closed."""
    if not held or showing.closed is None or showing.closed.closing.contact is None:
        return
    look, contact, excess = showing.look, showing.closed.closing.contact, showing.closed.stop_excess
    worst = max(held, key=lambda tooth: (tooth.height_mm, tooth.row.teeth.names[tooth.number]))
    name = worst.row.teeth.names[worst.number]
    most = f"{the(name)} most: {worst.height_mm:.1f} mm" if len(held) > 1 else f"{worst.height_mm:.1f} mm of it"
    whose = f"{len(held)} teeth show more than they should, " if len(held) > 1 else f"{the(name)} shows too much, "
    yield Finding(
        severity=_severity(worst),
        message=(
            f"The closed mouth is not reached: {look.pose.words}, {whose}{most}, seen from "
            f"{look.views[worst.view].words} (limit {worst.allowed.height_mm:.1f} mm: {worst.allowed.meaning}). With "
            f"the jaw closed it would be {worst.closed_mm:.1f} mm. What stops the jaw stands under closure."
        ),
        place=_place(showing, worst),
        value=worst.height_mm,
        limit=worst.allowed.height_mm,
        fix=excess.fix if excess is not None else f"move or shorten {the(contact.piece)}",
        elements=_vertices(worst),
        cause=contact.cause,
    )


def _meant(showing: Showing) -> Iterator[Finding]:
    """Yield a note on the teeth that are meant to be seen: how much of them shows, and that no norm was held to it."""
    words = ", ".join(showing.brief.teeth.shown)
    meant = [tooth for tooth in showing.every_tooth() if tooth.meant]
    if meant:
        worst = max(meant, key=lambda tooth: tooth.tallest_mm)
        part, name = worst.row.teeth.part, worst.row.teeth.names[worst.number]
        view = int(worst.row.height_mm[:, worst.number].argmax())
        yield Finding(
            severity=Severity.INFO,
            message=(
                f"{the(name, 'The')} shows {worst.tallest_mm:.1f} mm {showing.look.pose.words}, seen from "
                f"{showing.look.views[view].words}. The brief says that '{words}' is meant to be seen, so of "
                f"{len(meant)} teeth what shows is measured and held against nothing."
            ),
            place=showing.fitting.place(part.name, worst.row.teeth.points_mm.mean(axis=0)),
            value=worst.tallest_mm,
        )
    elif words:
        part = showing.look.design.rows[0].teeth.part
        yield Finding(
            severity=Severity.INFO,
            message=f"The brief says that '{words}' is meant to be seen; no tooth and no row of teeth is called so.",
            place=showing.fitting.place(part.name, showing.look.design.rows[0].teeth.points_mm.mean(axis=0)),
            value=0.0,
            unit="teeth",
            fix="name in [teeth] shown the object or the marked tooth that is meant",
        )


def _own(showing: Showing) -> Iterator[Finding]:
    """Yield the one note on own teeth that show more than they should without the design."""
    own = [tooth for tooth in showing.teeth() if tooth.shows_by_itself]
    if own:
        worst = max(own, key=lambda tooth: tooth.own_mm)
        part, bare = worst.row.teeth.part, worst.bare_closed
        view = int(bare.height_mm[:, worst.number].argmax())
        height_mm = float(bare.height_mm[view, worst.number])
        yield Finding(
            severity=Severity.INFO,
            message=(
                f"On the bare, closed face {len(own)} of the own teeth show more than is usual, up to "
                f"{height_mm:.1f} mm seen from {showing.look.views[view].words}. They do so without the design; only "
                "what the design adds was judged."
            ),
            place=showing.fitting.place(part.name, bare.teeth.points_mm[bare.teeth.tooth == worst.number].mean(axis=0)),
            value=height_mm,
        )


def _place(showing: Showing, tooth: ShownTooth) -> Place:
    teeth, pose = tooth.row.teeth, showing.look.pose
    region = teeth.names[tooth.number] if teeth.labels[tooth.number] else None
    at_mm = teeth.points_mm[seen_elements(tooth)].mean(axis=0)
    return showing.fitting.place(teeth.part.name, at_mm, region, motion=pose.motion, t=pose.t)


def _vertices(tooth: ShownTooth) -> np.ndarray:
    teeth = tooth.row.teeth
    return np.unique(teeth.faces[np.unique(teeth.samples.face[seen_elements(tooth)])])
