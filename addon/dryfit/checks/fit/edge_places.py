"""What an edge is held against where it lies: by its material, by who sees it, and by what moves near it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fnmatch import fnmatchcase

import numpy as np

from ...geometry.rim import RimSamples
from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.brief import Brief
from ...model.finding import Bound, Finding, Severity
from ...model.limits import Limits
from ...model.materials import MELTS
from ...model.snapshot import Part
from ...performer.edge_lines import LID, NOSTRIL, VERMILION, EdgeLine, MissingLine
from ...performer.fitting import Fitting

ORDINARY, MELTING, HIDDEN, CLOSE, MOVING = range(5)
WORDS = ("", ", as its edge melts", ", hidden there", " in close-up", " on a line that moves")
KEPT_AWAY = {LID: "rim_to_lid_mm", VERMILION: "rim_to_vermilion_mm", NOSTRIL: "rim_to_nostril_mm"}
"""The kinds of line that every edge has to keep away from, each with its measure."""


@dataclass(frozen=True)
class EdgePlaces:
    """What each step of one piece's rim is held against.

    Attributes
    ----------
    review_mm, fail_mm
        Thickness above which it is looked at, and above which it fails, ``(s,)``.
    why
        Which of ``WORDS`` says why, ``(s,)``.
    least_mm
        The thinnest edge the piece can be cast with; 0 where that is not known.
    away_mm
        Line -> how far each step is from it, ``(s,)``.
    """

    review_mm: FloatArray
    fail_mm: FloatArray
    why: IntArray
    least_mm: float
    away_mm: tuple[tuple[EdgeLine, FloatArray], ...]


def edge_places(
    part: Part, samples: RimSamples, lines: tuple[EdgeLine, ...], fitting: Fitting, brief: Brief
) -> EdgePlaces:
    """Return what a piece's rim is held against, step by step."""
    limits, material = brief.limits, brief.materials.get(part.material)
    levels = _levels_mm(limits)
    away_mm = tuple((line, line.distance_mm(samples.points_mm)) for line in lines)
    why = np.full(len(samples.points_mm), MELTING if material and material.edge_work == MELTS else ORDINARY)
    near = np.min([away for _, away in away_mm], axis=0, initial=np.inf) if away_mm else np.full(len(why), np.inf)
    for place, marked in (
        (MOVING, near < limits.edge_line_mm),
        (CLOSE, _named(part, samples, brief.edges.close_up, fitting)),
        (HIDDEN, _named(part, samples, brief.edges.hidden, fitting)),
    ):
        why[marked] = place
    return EdgePlaces(
        review_mm=levels[why, 0],
        fail_mm=levels[why, 1],
        why=why,
        least_mm=material.min_edge_mm if material else 0.0,
        away_mm=away_mm,
    )


def _levels_mm(limits: Limits) -> FloatArray:
    """Return review and fail level of each place, ``(5, 2)``, mm."""
    review = [
        limits.rim_thickness_review_mm,
        min(limits.rim_thickness_mm, limits.melting_edge_mm),
        limits.hidden_edge_mm,
        min(limits.close_edge_review_mm, limits.rim_thickness_review_mm),
        min(limits.close_edge_review_mm, limits.rim_thickness_review_mm),
    ]
    fail = [
        limits.rim_thickness_mm,
        limits.melting_edge_mm,
        limits.hidden_edge_mm,
        min(limits.close_edge_mm, limits.rim_thickness_mm),
        min(limits.moving_edge_mm, limits.rim_thickness_mm),
    ]
    return np.stack([review, fail], axis=1)


def _named(part: Part, samples: RimSamples, patterns: tuple[str, ...], fitting: Fitting) -> BoolArray:
    """Mark the steps whose piece or region one of some patterns names, ``(s,)`` bool."""
    if any(fnmatchcase(part.name, pattern) for pattern in patterns):
        return np.ones(len(samples.points_mm), dtype=bool)
    regions = fitting.regions
    named = [number for number, name in enumerate(regions.names) if any(fnmatchcase(name, each) for each in patterns)]
    return np.isin(regions.numbers(samples.points_mm), named)


def unknown_places(parts: tuple[Part, ...], fitting: Fitting) -> str:
    """Return which entries of the brief's ``[edges]`` name no piece and no region; ``""`` where all do."""
    known = [part.name for part in parts] + list(fitting.regions.names)
    edges = fitting.brief.edges
    lost = [each for each in (*edges.hidden, *edges.close_up) if not any(fnmatchcase(name, each) for name in known)]
    if not lost:
        return ""
    return f"[edges] names what is neither a piece nor a region of this head: {', '.join(lost)}."


def undrawn(missing: tuple[MissingLine, ...]) -> str:
    """Return which lines could not be drawn, and what to add; ``""`` where all could."""
    if not missing:
        return ""
    marks = sorted({mark for line in missing for mark in line.landmarks})
    add = f"Add the landmarks {', '.join(marks)}." if marks else "The scan has no opening there; mark it on the base."
    return f"How far edges keep from the {', '.join(line.name for line in missing)} could not be measured. {add}"


def nearest_mm(places: list[EdgePlaces], missing: tuple[MissingLine, ...]) -> dict[str, float | str]:
    """Return how near any edge comes to each kind of line; nan where one of that kind could not be drawn."""
    lost = {line.kind for line in missing}
    nearest: dict[str, float | str] = {}
    for kind, measure in KEPT_AWAY.items():
        away = [float(away.min()) for each in places for line, away in each.away_mm if line.kind == kind and len(away)]
        nearest[measure] = float("nan") if kind in lost else min(away, default=float("nan"))
    return nearest


def distance_bounds(limits: Limits) -> dict[str, Bound | None]:
    """Return what those distances are held against."""
    return {measure: Bound(limits.edge_line_mm, True, "edge_line_mm") for measure in KEPT_AWAY.values()}


def too_near(
    part: Part, samples: RimSamples, places: EdgePlaces, fitting: Fitting, limits: Limits
) -> Iterator[Finding]:
    """Yield one finding for each line that a piece's edge comes too near to."""
    for line, away_mm in places.away_mm:
        near = np.flatnonzero(away_mm < limits.edge_line_mm)
        if line.kind not in KEPT_AWAY or not len(near):
            continue
        worst = near[away_mm[near].argmin()]
        place = fitting.place(part.name, samples.points_mm[worst])
        length_mm = float(samples.lengths_mm[near].sum())
        yield Finding(
            severity=Severity.REVIEW,
            message=(
                f"{part.name} ends {away_mm[worst]:.1f} mm from the {line.name}, {length_mm:.0f} mm of edge nearer "
                f"than {limits.edge_line_mm:g} mm: what moves and wets there works it loose "
                f"(limit {limits.edge_line_mm:g} mm)."
            ),
            place=place,
            value=float(away_mm[worst]),
            limit=limits.edge_line_mm,
            fix=f"end the piece {limits.edge_line_mm:g} mm or more from the {line.name}, or lead it past the line",
            elements=np.unique(samples.edge[near]),
        )
