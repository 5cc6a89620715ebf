"""By how much a tooth or piece of hardware must lose height for the mouth to shut."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...geometry.rigid import fit_rigid
from ...model.arrays import BoolArray, FloatArray, IntArray
from ..tooth_names import the
from .course import NEAR_MM, TOUCH_MM, Course
from .encounter import Overlap
from .pairs import Pair
from .stops import in_the_way

CHUNK = 512


@dataclass(frozen=True)
class Excess:
    """What one piece has too much.

    Attributes
    ----------
    pair
        The pair it blocks.
    piece
        Its name: a tooth, or the part.
    shorten_mm
        What it must lose along the closing direction, mm.
    cut_mm
        Height at which it must end, jaw closed, along the closing direction, mm.
    vertices
        Vertices of the first part beyond that height.
    at_mm
        The one that stands furthest, jaw closed, world space.
    """

    pair: Pair
    piece: str
    shorten_mm: float
    cut_mm: float
    vertices: IntArray
    at_mm: tuple[float, float, float]

    @property
    def part_name(self) -> str:
        """Name of the part the piece is of."""
        return self.pair.first.part.name

    @property
    def other_name(self) -> str:
        """Name of what it stands in."""
        return self.pair.second.whole_name

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

    A piece is cut off at the lowest place that the other reaches on it anywhere on the way; what is left is clear, or
    grazes no deeper than is forgiven.

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
        vertices = np.flatnonzero(pair.first.piece == number)
        cut_mm = min((_lowest(course, number, seen, toward) for seen in _on_the_way(course, from_t)), default=np.inf)
        tip = int(vertices[height_mm[vertices].argmax()])
        if height_mm[tip] - cut_mm > least_mm:
            x, y, z = (float(value) for value in closed_mm[tip])
            standing = pair.first.vertex_ids[vertices[height_mm[vertices] > cut_mm]]
            lost_mm = float(height_mm[tip]) - cut_mm
            found.append(Excess(pair, pair.first.pieces[number], lost_mm, cut_mm, standing, (x, y, z)))
    return sorted(found, key=lambda excess: (-excess.shorten_mm, excess.piece))


def _on_the_way(course: Course, from_t: float) -> Iterator[Overlap]:
    return (overlap for overlap in course.overlaps if 0.0 <= overlap.t <= from_t)


def _rises(course: Course, up: FloatArray) -> float:
    """Return 1 when the first body comes up to the second as the jaw closes, -1 when it comes down on it."""
    pair, stage = course.encounter.pair, course.encounter.stage
    moved = [
        (stage.vertices(body, 0.0) - stage.vertices(body, 1.0))[body.counted].mean(axis=0)
        for body in (pair.first, pair.second)
    ]
    comes_mm = moved[0] - moved[1]
    return 1.0 if comes_mm @ up >= 0.0 else -1.0


def _lowest(course: Course, number: int, overlap: Overlap, toward: FloatArray) -> float:
    """Return the lowest height on a piece that the other body reaches at one pose, as it stands with the jaw closed."""
    encounter, first = course.encounter, course.encounter.pair.first
    faces = overlap.faces[first.piece[first.faces[overlap.faces[:, 0], 0]] == number]
    met, _ = encounter.meeting_points(faces[_free(course)[faces[:, 0]]], overlap.t)
    reached = met if course.yields else _round_the_deep(course, number, overlap, met)
    stage = encounter.stage
    back = fit_rigid(stage.vertices(first, overlap.t), stage.vertices(first, 0.0))
    return float((back.apply(reached) @ toward).min(initial=np.inf))


def _free(course: Course) -> BoolArray:
    """Return which triangles of the first body are clear of the second wide open, and border on none that is not."""
    faces = course.encounter.pair.first.faces
    touched = np.zeros(int(faces.max()) + 1, bool)
    touched[faces[course.overlaps[-1].faces[:, 0]]] = True
    return np.asarray(~touched[faces].any(axis=1))


def _round_the_deep(course: Course, number: int, overlap: Overlap, met: FloatArray) -> FloatArray:
    """Return where two rigid bodies share room, ``(k, 3)``, mm, as far as it is beside what is deeper than forgiven.

    Parameters
    ----------
    met
        Where their triangles cross, ``(j, 3)``; skin that lies in the other is added, which also flush walls have.
    """
    encounter, beyond = course.encounter, course.beyond_mm(overlap)
    own = encounter.piece_of(overlap) == number
    inside = own & (encounter.radius_mm(overlap.points) == 0.0) & (beyond > TOUCH_MM)
    reached = np.concatenate([met, encounter.places_mm(overlap.points[inside], overlap.t)])
    deep_mm = encounter.places_mm(overlap.points[own & (beyond > course.forgiven_mm)], overlap.t)
    return reached[near_any(reached, deep_mm, NEAR_MM)]


def near_any(points_mm: FloatArray, others_mm: FloatArray, reach_mm: float) -> BoolArray:
    """Return which points ``(k, 3)`` are within reach of any of others ``(j, 3)``, ``(k,)``."""
    near = np.zeros(len(points_mm), bool)
    for start in range(0, len(points_mm), CHUNK):
        some = points_mm[start : start + CHUNK]
        far = np.linalg.norm(some[:, None] - others_mm[None], axis=2)
        near[start : start + CHUNK] = (far <= reach_mm).any(axis=1)
    return near
