"""By how much a tooth or piece of hardware must lose height for the mouth to shut."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...geometry.rigid import fit_rigid
from ...geometry.rows import row_any, row_norms
from ...model.arrays import BoolArray, FloatArray, IntArray
from ..tooth_names import the
from .course import NEAR_MM, TOUCH_MM, Course
from .encounter import Overlap
from .pairs import Pair
from .stops import in_the_way

CHUNK = 512
CELL_MM = 0.4
"""Of deep places in one cell of this size one stands for all."""


@dataclass(frozen=True)
class Excess:
    """What one piece has too much.

    Attributes
    ----------
    pair
        The pair it blocks.
    piece
        Its name: a tooth, or the part.
    other_name
        Name of what it stands in where it is deepest: a tooth, a part or a lip.
    shorten_mm
        What it must lose along the closing direction, mm.
    vertices, lost_mm
        Vertices of the first part that stand beyond what may stay, ascending, and by how much, ``(k,)`` each.
    at_mm
        The one that stands furthest beyond it, jaw closed, world space.
    """

    pair: Pair
    piece: str
    other_name: str
    shorten_mm: float
    vertices: IntArray
    lost_mm: FloatArray
    at_mm: tuple[float, float, float]

    @property
    def part_name(self) -> str:
        """Name of the part the piece is of."""
        return self.pair.first.part.name

    @property
    def fix(self) -> str:
        """What would mend it, in words."""
        return f"shorten {the(self.piece)} by {self.shorten_mm:.1f} mm"

    @property
    def cause(self) -> str:
        """What is wrong, for whatever else comes of it."""
        return self.pair.cause(self.piece)


def excesses(course: Course, from_t: float, up: FloatArray, least_mm: float) -> list[Excess]:
    """Return what each piece of a pair's rigid first body must lose to clear the second, the largest first.

    Each shell of a piece is cut off at the lowest place that the other reaches on it anywhere on the way; what is left
    is clear, or grazes no deeper than is forgiven.

    Parameters
    ----------
    course
        The pair on the way from wide open to closed.
    from_t
        Where on the way to begin, at the first contact: what comes before is not looked at.
    up
        The head's upright, ``(3,)``.
    least_mm
        Pieces with less are left out.
    """
    pair, stage = course.encounter.pair, course.encounter.stage
    toward = up * _rises(course, up)
    closed_mm = stage.vertices(pair.first, 0.0)
    height_mm = closed_mm @ toward
    found = []
    for number in np.flatnonzero(in_the_way(course)).tolist():
        cut_mm = course.kept(_reached, number, from_t, toward)
        over_mm = np.where(pair.first.piece == number, height_mm - cut_mm[pair.first.shell], -np.inf)
        standing = np.flatnonzero(over_mm > 0.0)
        tip = int(over_mm.argmax())
        if over_mm[tip] > least_mm:
            x, y, z = (float(value) for value in closed_mm[tip])
            ids, lost_mm = pair.first.vertex_ids[standing], over_mm[standing]
            piece, other = (
                pair.first.pieces[number],
                course.encounter.mostly_into(number, _deepest_seen(course, number)),
            )
            found.append(Excess(pair, piece, other, float(over_mm[tip]), ids, lost_mm, (x, y, z)))
    return sorted(found, key=lambda excess: (-excess.shorten_mm, excess.piece))


def _deepest_seen(course: Course, number: int) -> Overlap:
    return course.overlaps[int(course.table_mm[:, number].argmax())]


def _reached(course: Course, number: int, from_t: float, toward: FloatArray) -> FloatArray:
    """Return the lowest height that the other reaches on each shell of a piece, jaw closed, ``(shells,)``, or inf."""
    stage, first = course.encounter.stage, course.encounter.pair.first
    lowest = np.full(int(first.shell.max()) + 1, np.inf)
    for overlap in course.overlaps:
        if 0.0 <= overlap.t <= from_t:
            met, shells = _met(course, number, overlap)
            back = fit_rigid(stage.vertices(first, overlap.t), stage.vertices(first, 0.0))
            height_mm = back.apply(met) @ toward
            lower = np.flatnonzero(height_mm < lowest[shells])
            lower = lower[_beside_what_is_deep(course, number, overlap, met[lower])]
            np.minimum.at(lowest, shells[lower], height_mm[lower])
    return lowest


def _met(course: Course, number: int, overlap: Overlap) -> tuple[FloatArray, IntArray]:
    """Return where the other body meets a piece at one pose, ``(k, 3)`` mm, and on which of its shells, ``(k,)``.

    Skin of rigid bodies that lies in the other counts beside the triangles that cross: also flush walls have that.
    """
    encounter, first = course.encounter, course.encounter.pair.first
    faces = overlap.faces[first.piece[first.faces[overlap.faces[:, 0], 0]] == number]
    faces = faces[_free(course)[faces[:, 0]]]
    met, row = encounter.meeting_points(faces, overlap.t)
    shells = first.shell[first.faces[faces[row, 0], 0]]
    if course.yields:
        return met, shells
    inside = (encounter.piece_of(overlap) == number) & (encounter.radius_mm(overlap.points) == 0.0)
    inside &= course.beyond_mm(overlap) > TOUCH_MM
    met = np.concatenate([met, encounter.places_mm(overlap.points[inside], overlap.t)])
    return met, np.concatenate([shells, encounter.shell_of(overlap)[inside]])


def _beside_what_is_deep(course: Course, number: int, overlap: Overlap, met: FloatArray) -> BoolArray:
    """Return which places of a meeting ``(k, 3)`` are beside what is deeper than forgiven, ``(k,)``; of flesh, all."""
    if course.yields:
        return np.ones(len(met), bool)
    deep = (course.encounter.piece_of(overlap) == number) & (course.beyond_mm(overlap) > course.forgiven_mm)
    return near_any(met, thinned(course.encounter.places_mm(overlap.points[deep], overlap.t), CELL_MM), NEAR_MM)


def _rises(course: Course, up: FloatArray) -> float:
    """Return 1 when the first body comes up to the second as the jaw closes, -1 when it comes down on it."""
    pair, stage = course.encounter.pair, course.encounter.stage
    moved = [
        (stage.vertices(body, 0.0) - stage.vertices(body, 1.0))[body.counted].mean(axis=0)
        for body in (pair.first, pair.second)
    ]
    comes_mm = moved[0] - moved[1]
    return 1.0 if comes_mm @ up >= 0.0 else -1.0


def _free(course: Course) -> BoolArray:
    """Return which triangles of the first body are clear of the second wide open, and border on none that is not."""
    faces = course.encounter.pair.first.faces
    touched = np.zeros(int(faces.max()) + 1, bool)
    touched[faces[course.overlaps[-1].faces[:, 0]]] = True
    return np.asarray(~row_any(touched[faces]))


def thinned(points_mm: FloatArray, cell_mm: float) -> FloatArray:
    """Return the first of the points ``(k, 3)`` in each cell of a grid, ``(j, 3)``."""
    _, first = np.unique(np.floor(points_mm / cell_mm).astype(np.int64), axis=0, return_index=True)
    return points_mm[np.sort(first)]


def near_any(points_mm: FloatArray, others_mm: FloatArray, reach_mm: float) -> BoolArray:
    """Return which points ``(k, 3)`` are within reach of any of others ``(j, 3)``, ``(k,)``."""
    near = np.zeros(len(points_mm), bool)
    for start in range(0, len(points_mm), CHUNK):
        some = points_mm[start : start + CHUNK]
        far = row_norms(some[:, None] - others_mm[None])
        near[start : start + CHUNK] = row_any(far <= reach_mm)
    return near
