"""Where the edge of one piece lies on another: how wide they overlap, and which has to be glued first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...geometry.rim import RimSamples
from ...geometry.rows import highs, lows, row_all, row_means, row_norms
from ...model.arrays import BoolArray, FloatArray
from ...model.finding import Finding, Severity
from ...model.limits import Limits
from ...model.snapshot import Part
from ...performer.fitting import Fitting

ABOVE_MM, SUNK_MM = 0.2, 0.02
"""Rim is looked down from, from this far above it: what is met further above the rim than the second lies over it."""
SITS_SHARE = 0.8
"""A piece with more of its rim than this on another sits on it; that is no joint of two edges."""


@dataclass(frozen=True)
class LappedEdge:
    """The edge of one piece where it lies on another.

    Attributes
    ----------
    upper, lower
        The piece whose edge is on top, and the one beneath.
    length_mm
        Length of that edge.
    width_mm
        How far the lower piece goes on beneath it, median over that length; nan where the upper piece sits on it.
    middle_mm
        A place on that edge, ``(3,)``.
    """

    upper: Part
    lower: Part
    length_mm: float
    width_mm: float
    middle_mm: FloatArray


def overlaps(rims: list[tuple[Part, RimSamples]], fitting: Fitting, limits: Limits) -> list[LappedEdge]:
    """Return every overlap of some pieces with more rim in it than is judged at all."""
    found = []
    for upper, rim in rims:
        for lower, lower_rim in rims:
            if upper.name == lower.name:
                continue
            on = _lies_on(rim, lower, fitting)
            length_mm = float(rim.lengths_mm[on].sum())
            if on.any() and length_mm >= limits.rim_span_mm:
                found.append(_lapped(upper, rim, on, lower, lower_rim, length_mm))
    return found


def _lapped(
    upper: Part, rim: RimSamples, on: BoolArray, lower: Part, lower_rim: RimSamples, length_mm: float
) -> LappedEdge:
    points = rim.points_mm[on]
    apart_mm = np.array([row_norms(lower_rim.points_mm - point).min() for point in points])
    joint = length_mm <= SITS_SHARE * float(rim.lengths_mm.sum())
    return LappedEdge(
        upper=upper,
        lower=lower,
        length_mm=length_mm,
        width_mm=float(np.median(apart_mm)) if joint else float("nan"),
        middle_mm=points[len(points) // 2],
    )


def _lies_on(rim: RimSamples, lower: Part, fitting: Fitting) -> BoolArray:
    """Mark the steps of a rim ``(s,)`` between which and the base the other piece lies."""
    low, high = lows(lower.vertices_mm) - 1.0, highs(lower.vertices_mm) + 1.0
    on = row_all((rim.points_mm >= low) & (rim.points_mm <= high))
    asked = np.flatnonzero(on)
    if not len(asked):
        return on
    points = rim.points_mm[asked]
    near = fitting.base_surface.closest(points)
    down = -fitting.base_surface.normals[near.face]
    reach_mm = np.asarray(near.distance_mm)
    outer = fitting.skin(lower)
    hit = fitting.surface(lower).first_hit(points - ABOVE_MM * down, down, float(reach_mm.max() + 2.0 * ABOVE_MM))
    met_mm = hit.distance_mm - ABOVE_MM
    stands = row_means(outer.clearance_mm[lower.faces[np.maximum(hit.face, 0)]])
    contact_mm = fitting.brief.limits.contact_mm
    met = (hit.face >= 0) & (met_mm > -SUNK_MM)
    on[asked] = met & (met_mm < reach_mm - contact_mm) & (stands > contact_mm)
    return on


def order_of(found: list[LappedEdge]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the order in which overlapping pieces are glued, and those that each need another first, all in a ring."""
    beneath: dict[str, set[str]] = {}
    for each in found:
        beneath.setdefault(each.upper.name, set()).add(each.lower.name)
        beneath.setdefault(each.lower.name, set())
    order: list[str] = []
    while ready := sorted(name for name, under in beneath.items() if under <= set(order) and name not in order):
        order.extend(ready)
    return tuple(order), tuple(sorted(set(beneath) - set(order)))


def overlap_measures(found: list[LappedEdge]) -> dict[str, float | str]:
    """Return the narrowest overlap, nan without any, and where there are some the order in which pieces go on."""
    widths = [each.width_mm for each in found if not np.isnan(each.width_mm)]
    order, ring = order_of(found)
    measures: dict[str, float | str] = {
        "overlaps": len(found),
        "overlap_width_mm": min(widths, default=float("nan")),
    }
    return measures | ({"gluing_order": "none possible" if ring else ", ".join(order)} if found else {})


def overlap_findings(found: list[LappedEdge], fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Yield joints that are too narrow or needlessly wide, and pieces of which none can go on first."""
    for each in found:
        narrow = each.width_mm < limits.overlap_width_mm
        if narrow or each.width_mm > limits.overlap_most_mm:
            yield _width(each, narrow, fitting, limits)
    _, ring = order_of(found)
    if ring:
        yield Finding(
            severity=Severity.REVIEW,
            message=f"Of {', '.join(ring)} none can be glued first: each lies on another of them somewhere.",
            place=fitting.place(ring[0], next(each.middle_mm for each in found if each.upper.name == ring[0])),
            value=float(len(ring)),
            unit="",
            fix="let one of them lie beneath wherever they meet",
        )


def _width(each: LappedEdge, narrow: bool, fitting: Fitting, limits: Limits) -> Finding:
    limit_mm = limits.overlap_width_mm if narrow else limits.overlap_most_mm
    place = fitting.place(each.upper.name, each.middle_mm)
    side = "at least" if narrow else "at most"
    return Finding(
        severity=Severity.REVIEW if narrow else Severity.INFO,
        message=(
            f"{each.upper.name} overlaps {each.lower.name} by {each.width_mm:.1f} mm over {each.length_mm:.0f} mm of "
            f"edge at the {place.region} ({side} {limit_mm:g} mm)."
        ),
        place=place,
        value=each.width_mm,
        limit=limit_mm,
        fix=f"let {each.lower.name} go on beneath for {limits.overlap_width_mm:g} to {limits.overlap_most_mm:g} mm",
    )
