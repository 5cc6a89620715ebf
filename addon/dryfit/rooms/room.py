"""The room of one head: how much may be added at each point of its skin, and what stops it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from ..geometry.areas import vertex_areas_mm2
from ..model.arrays import BoolArray, FloatArray, IntArray
from ..model.progress import Job, Progress, retold
from ..performer.fitting import Fitting
from .breath import breath_stops
from .edges import EdgeRoom, edge_room
from .lids import lid_stops
from .meeting import PosedSkin, meeting_stops, poses_of
from .mouth import mouth_stop
from .rims import SuggestedRim, suggested_rims
from .sight import sight_stops
from .skin import REACH_MM, Ground, skin_of
from .stop import Stop
from .taken import taken_notes
from .teeth import TeethRoom, teeth_room
from .weight import WeightLeft, weight_left
from .zones import zone_stops

FOLD = "a hollow that closes on itself"
NOT_SKIN = "the lining of mouth, nostrils and ears, and what lies behind lids, is no skin to sculpt on"
STEPS = 8
Found = TypeVar("Found")


@dataclass(frozen=True)
class Region:
    """What one region of the face allows.

    Attributes
    ----------
    name
        Words for it.
    least_mm, usual_mm, most_mm
        Least, median and greatest room of its skin; nan where none of it is known.
    stop
        Id of what stops most of it; ``""`` where nothing within reach does.
    at_most
        Id of what stops it where there is most room.
    unknown_share
        Share of its skin where it cannot be told.
    """

    name: str
    least_mm: float
    usual_mm: float
    most_mm: float
    stop: str
    at_most: str
    unknown_share: float


@dataclass(frozen=True)
class Room:
    """What one bare head allows.

    Attributes
    ----------
    name, source
        Of the design that holds the head.
    vertices_mm, faces
        Its skin, facing outward, ``(n, 3)`` and ``(m, 3)``.
    outward
        Unit directions that forms grow along, ``(n, 3)``.
    room_mm
        The greatest thickness that may be added at each vertex with every check still passing, ``(n,)``; nan where it
        cannot be told, ``REACH_MM`` where nothing stops it within that.
    stopped_by
        What stops it, a place in ``stops``, ``(n,)``; -1 for nothing, and where it cannot be told.
    stops
        Every constraint with its own heights.
    why, reasons
        Why it cannot be told, a place in ``reasons`` at each vertex, -1 where it can.
    notes
        What else the user should know: motions that are missing, landmarks that nobody confirmed.
    regions
        What each region of the face allows.
    teeth, edges, weights
        Room for teeth, where an edge may end, and the weight that is left.
    rims
        The rim nearest to each that was drawn.
    """

    name: str
    source: str
    vertices_mm: FloatArray
    faces: IntArray
    outward: FloatArray
    room_mm: FloatArray
    stopped_by: IntArray
    stops: tuple[Stop, ...]
    why: IntArray
    reasons: tuple[str, ...]
    notes: tuple[str, ...]
    regions: tuple[Region, ...]
    teeth: TeethRoom
    edges: EdgeRoom
    weights: tuple[WeightLeft, ...]
    rims: tuple[SuggestedRim, ...] = ()

    def words_of(self, stop_id: str) -> str:
        """Return the words for a stop, ``""`` for nothing."""
        return next((stop.words for stop in self.stops if stop.id == stop_id), "")

    @property
    def told(self) -> BoolArray:
        """Where the room is known, ``(n,)``."""
        return np.asarray(np.isfinite(self.room_mm))

    @property
    def not_skin(self) -> int:
        """The place in ``reasons`` of what is no skin to sculpt on."""
        return self.reasons.index(NOT_SKIN)

    @property
    def cage_mm(self) -> FloatArray:
        """The skin at the room's height, ``(n, 3)``, mm; where that is not known, the bare skin."""
        height = np.nan_to_num(self.room_mm, nan=0.0)
        cage: FloatArray = self.vertices_mm + height[:, None] * self.outward
        return cage


def measure_room(fitting: Fitting) -> Job[Room]:
    """Return the room of a fitting's head, whatever is worn on it.

    Yields
    ------
    Progress
        Constraints finished.
    """
    limits = fitting.brief.limits
    yield Progress(0, STEPS, "the skin that can be sculpted on")
    skin = skin_of(fitting)
    stops = list((yield from _part_of(sight_stops(fitting, skin, limits), 1)))
    yield Progress(2, STEPS, "lids that close")
    stops += lid_stops(fitting, skin, limits)
    yield Progress(3, STEPS, "nostrils, ears and mouth")
    stops += breath_stops(fitting, skin, limits)
    stops.append(mouth_stop(fitting, skin, limits))
    stops += zone_stops(fitting, skin, limits)
    stops.append(Stop("fold", "", FOLD, "", skin.fold_mm))
    poses, left_out = yield from _part_of(poses_of(fitting), 4)
    below = np.min([skin.least_around(stop.height_mm) for stop in stops], axis=0)
    stops += yield from _part_of(meeting_stops(fitting, skin, limits, poses, below), 5)
    stops = [replace(stop, height_mm=skin.least_around(stop.height_mm)) for stop in stops]
    room_mm, stopped_by, why, reasons = _put_together(skin, stops)
    yield Progress(6, STEPS, "teeth")
    teeth = yield from _part_of(teeth_room(fitting), 6)
    yield Progress(7, STEPS, "edges and weight")
    edges = edge_room(fitting, skin, [pose.points_mm for pose in poses])
    weights = tuple(weight_left(fitting, skin, room_mm))
    return Room(
        name=fitting.snapshot.name,
        source=fitting.snapshot.source,
        vertices_mm=skin.points_mm,
        faces=skin.faces,
        outward=skin.outward,
        room_mm=room_mm,
        stopped_by=stopped_by,
        stops=tuple(stops),
        why=why,
        reasons=reasons,
        notes=tuple(_notes(fitting, poses, left_out)),
        regions=tuple(_regions(fitting, skin, room_mm, stopped_by, stops)),
        teeth=teeth,
        edges=edges,
        weights=weights,
        rims=tuple(suggested_rims(fitting, edges)),
    )


def _part_of(job: Job[Found], done: int) -> Job[Found]:
    """Run one step of the whole, telling how far it is within it."""
    return retold(job, lambda step: Progress(done + step.fraction, STEPS, step.label))


def _put_together(skin: Ground, stops: list[Stop]) -> tuple[FloatArray, IntArray, IntArray, tuple[str, ...]]:
    """Return the room at each vertex, what stops it, and why it cannot be told where it cannot."""
    heights = np.stack([stop.height_mm for stop in stops])
    room, stopped_by = heights.min(axis=0), heights.argmin(axis=0)
    free = room >= REACH_MM
    room, stopped_by = np.where(free, REACH_MM, room), np.where(free, -1, stopped_by)
    reasons = list(dict.fromkeys([*(stop.why for stop in stops if stop.why), NOT_SKIN]))
    why = np.full(len(room), -1)
    for stop in reversed(stops):
        if stop.why:
            why[stop.unknown] = reasons.index(stop.why)
    why[~skin.sculpted] = reasons.index(NOT_SKIN)
    told = why < 0
    return np.where(told, room, np.nan), np.where(told, stopped_by, -1), why, tuple(reasons)


def _notes(fitting: Fitting, poses: list[PosedSkin], left_out: list[str]) -> Iterator[str]:
    posed = list(dict.fromkeys(pose.motion.replace("_", " ") for pose in poses if pose.motion))
    moved = f"What motions bring together was looked for in: {', '.join(posed)}." if posed else "Nothing moves."
    yield f"{moved} What other motions of this face bring together is not known."
    yield from left_out
    yield from taken_notes(fitting)
    yield from fitting.snapshot.notes


def _regions(
    fitting: Fitting, skin: Ground, room_mm: FloatArray, stopped_by: IntArray, stops: list[Stop]
) -> Iterator[Region]:
    """Yield what each region allows, from the top of the head down."""
    numbers, areas = fitting.regions.numbers(skin.points_mm), vertex_areas_mm2(skin.points_mm, skin.faces)
    for number, name in enumerate(fitting.regions.names):
        own = np.flatnonzero((numbers == number) & skin.sculpted)
        if len(own):
            yield _region(name, own, room_mm, stopped_by, areas, stops)


def _region(
    name: str, own: IntArray, room_mm: FloatArray, stopped_by: IntArray, areas: FloatArray, stops: list[Stop]
) -> Region:
    known = own[np.isfinite(room_mm[own])]
    unknown = 1.0 - float(areas[known].sum() / max(areas[own].sum(), 1e-9))
    if not len(known):
        return Region(name, np.nan, np.nan, np.nan, "", "", 1.0)
    by_area = np.bincount(stopped_by[known] + 1, weights=areas[known], minlength=len(stops) + 1)
    most = int(known[room_mm[known].argmax()])

    def named(number: int) -> str:
        return stops[number].id if number >= 0 else ""

    return Region(
        name,
        float(room_mm[known].min()),
        _weighted_median(room_mm[known], areas[known]),
        float(room_mm[most]),
        named(int(by_area.argmax()) - 1),
        named(int(stopped_by[most])),
        unknown,
    )


def _weighted_median(values: FloatArray, weights: FloatArray) -> float:
    order = np.argsort(values)
    run = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(run, 0.5 * run[-1])])
