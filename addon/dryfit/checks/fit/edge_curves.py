"""How a piece grows from its rim inward: along the whole rim, along the span that fails, and cut at its worst place."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ...model.arrays import FloatArray, IntArray
from ...model.finding import Curve

BIN_MM = 0.5
"""Distances from the rim are put together in steps of this: a quarter of the shortest span that is judged
(``rim_span_mm``), and finer than the edges of a sculpt's rim."""
SECTION_MM = 8.0
"""A cut shows the edge this far in: past what a blend is asked to take, and short enough to be drawn magnified."""
RIM_MM = 1.0
"""The limit is drawn this far in: it is the rim's, and asks nothing of the piece behind it."""
DISTANCE = "distance from the rim along the skin, mm"


@dataclass(frozen=True)
class Growth:
    """A piece's thickness over the distance from its rim, for the vertices near it.

    Attributes
    ----------
    inward_mm, thickness_mm
        Distance from the rim along the skin and thickness there, ``(k,)``.
    source
        The vertex of the rim that each lies behind, ``(k,)``.
    """

    inward_mm: FloatArray
    thickness_mm: FloatArray
    source: IntArray

    def behind(self, rim_vertices: IntArray) -> "Growth":
        """Return what lies behind some vertices of the rim."""
        own = np.isin(self.source, rim_vertices)
        return Growth(self.inward_mm[own], self.thickness_mm[own], self.source[own])


@dataclass(frozen=True)
class FailingSpan:
    """The span of rim that decided.

    Attributes
    ----------
    growth
        The piece that it is of.
    rim_vertices, worst_vertices
        The vertices of the rim along all of it, and those about its worst place.
    thickest_mm, limit_mm
        Its thickness as cast at the worst place, and the limit there.
    """

    growth: Growth
    rim_vertices: IntArray
    worst_vertices: IntArray
    thickest_mm: float
    limit_mm: float


def edge_curves(pieces: Sequence[Growth], failing: FailingSpan | None) -> Iterator[tuple[str, Curve]]:
    """Yield the whole rim's median, and of a span that fails its own thickness, its limit and a cut through it."""
    yield "thickness_by_distance", whole_rim(pieces)
    if failing is None:
        return
    behind = failing.growth.behind(failing.rim_vertices)
    distance, thickest = _by_distance(behind.inward_mm, behind.thickness_mm, 1.0)
    yield "thickness_by_distance_failing_span", _from_rim(distance, thickest, failing.thickest_mm, "greatest")
    limit = Curve((0.0, RIM_MM), (failing.limit_mm, failing.limit_mm), DISTANCE, "greatest allowed thickness, mm")
    yield "thickness_by_distance_limit", limit
    cut = failing.growth.behind(failing.worst_vertices)
    near = cut.inward_mm <= SECTION_MM
    if near.sum() > 1:
        distance, height = _by_distance(cut.inward_mm[near], cut.thickness_mm[near], 0.5)
        yield "section_by_distance", _from_rim(distance, height, failing.thickest_mm, "median")
        yield "section_by_distance_limit", limit


def whole_rim(pieces: Sequence[Growth]) -> Curve:
    """Return the median thickness by distance from the rim, in steps of half a millimetre."""
    inward = np.concatenate([piece.inward_mm for piece in pieces])
    distance, medians = _by_distance(inward, np.concatenate([piece.thickness_mm for piece in pieces]), 0.5)
    return Curve(tuple(distance.tolist()), tuple(medians.tolist()), DISTANCE, "median thickness, mm")


def _from_rim(distance: FloatArray, thickness: FloatArray, at_rim_mm: float, which: str) -> Curve:
    """Return a curve that starts at the rim with the thickness that was judged there."""
    inside = distance > 0.0
    x, y = (0.0, *distance[inside].tolist()), (at_rim_mm, *thickness[inside].tolist())
    return Curve(x, y, DISTANCE, f"{which} thickness, mm")


def _by_distance(inward_mm: FloatArray, thickness_mm: FloatArray, share: float) -> tuple[FloatArray, FloatArray]:
    """Return distances and the thickness that a share of the vertices at each stays under, both ``(b,)``."""
    place = np.round(inward_mm / BIN_MM).astype(np.int64)
    order = np.argsort(place, kind="stable")
    steps, first = np.unique(place[order], return_index=True)
    groups = np.split(thickness_mm[order], first[1:]) if len(steps) else []
    return np.asarray(steps * BIN_MM, dtype=np.float64), np.array(
        [float(np.quantile(group, share)) for group in groups]
    )
