"""What a closing lid meets: a piece that presses into the other lid, or two pieces that meet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ...geometry import Surface
from ...geometry.rows import points_at, row_highs, row_means, row_norms
from ...geometry.wall import fine_facets
from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.snapshot import Part
from ...performer.fitting import Fitting
from ...performer.head_frame import HeadFrame
from ...performer.lids import Lids
from ...performer.motion.posed import Posed
from ...performer.worn import worn_face_ids

REACH_MM = 30.0
"""Worn pieces are watched up to this far from the entrance pupil."""
WATCHED_MM = 1.0
STEPS = 12
NUDGE_MM = 0.02
"""A ray from a foot starts this far off the skin it stands on."""
PRECISION_T = 1e-3
SEAM_MM = 2.0
"""Triangles nearer to each other than this with open eyes belong to one stretch of a piece and cannot meet."""
BEHIND_MM = 5.0
"""Skin further behind the corners of the eye than this lines the socket."""
CORNER_SHARE = 0.1
"""Share of the lid's width at each corner where a piece that runs round it may meet itself."""


@dataclass(frozen=True)
class LidMeeting:
    """The first thing in the way of closing lids.

    Attributes
    ----------
    t
        Where in the motion.
    part, other
        The piece, and the name of what it meets.
    at_mm
        The place ``(3,)``.
    vertices
        Vertices of the piece there.
    soft
        Whether a piece meets a piece; then neither has been pressed in yet.
    """

    t: float
    part: Part
    other: str
    at_mm: FloatArray
    vertices: IntArray
    soft: bool


Touch = Callable[[float], LidMeeting | None]


def first_meeting(touch: Touch, last_t: float) -> LidMeeting | None:
    """Return the first meeting on the way from t = 0 to ``last_t``, by stepping and bisection, or None."""
    before = 0.0
    for t in np.linspace(0.0, last_t, STEPS + 1)[1:]:
        found = touch(float(t))
        if found is not None:
            return _bisect(touch, before, found)
        before = float(t)
    return None


def _bisect(touch: Touch, apart: float, found: LidMeeting) -> LidMeeting:
    while found.t - apart > PRECISION_T:
        middle = 0.5 * (apart + found.t)
        nearer = touch(middle)
        if nearer is None:
            apart = middle
        else:
            found = nearer
    return found


class PressedIn:
    """Watches for a worn piece that goes through skin other than its own.

    Every point of a piece stands on its foot, the skin it rides. Where the way from the foot to the point passes other
    skin, the point has been pressed into that by the rest of the way. Points lie within its triangles too, so that a
    long bar with few vertices is watched along its length.
    """

    def __init__(self, part: Part, lids: Lids, press_mm: float) -> None:
        self.part, self.lids, self.press_mm = part, lids, press_mm
        corners, weights = watched_points(part, lids.eye.entrance_mm)
        points_mm = points_at(weights, part.vertices_mm, corners)
        feet_mm = lids.fitting.base_surface.closest(points_mm).point
        high = np.flatnonzero(row_norms(points_mm - feet_mm) > press_mm)
        self.corners, self._weights = corners[high], weights[high]
        used, self._own = np.unique(self.corners, return_inverse=True)
        self._vertices: Posed = lids.poses.following(part.name, used)
        self._feet: Posed = lids.poses.points(feet_mm[high])
        self._at_first = self._pressed_mm(0.0)

    def __call__(self, t: float) -> LidMeeting | None:
        """Return the meeting at ``t``, or None."""
        pressed = self._pressed_mm(t) - self._at_first
        over = np.flatnonzero(pressed > self.press_mm)
        if not len(over):
            return None
        deepest = over[pressed[over].argmax()]
        at_mm = self._tops(t)[deepest]
        held = self.corners[over][self._weights[over] > 0.0]
        return LidMeeting(t, self.part, self.lids.fitting.base.name, at_mm, np.unique(held), soft=False)

    def _tops(self, t: float) -> FloatArray:
        return points_at(self._weights, self._vertices(t), self._own.reshape(self.corners.shape))

    def _pressed_mm(self, t: float) -> FloatArray:
        """Return how deep each watched point is in other skin, ``(k,)``, mm, 0 where it is in none."""
        if not len(self.corners):
            return np.zeros(0)
        feet, tops = self._feet(t), self._tops(t)
        along = tops - feet
        length = row_norms(along)
        start = feet + NUDGE_MM * along / length[:, None]
        hit = self.lids.skin(t).first_hit(start, along, length - NUDGE_MM)
        through = np.isfinite(hit.distance_mm)
        return np.where(through, length - NUDGE_MM - np.where(through, hit.distance_mm, 0.0), 0.0)


def watched_points(part: Part, entrance_mm: FloatArray) -> tuple[IntArray, FloatArray]:
    """Return points of a piece near an eye, a millimetre apart, as corner vertices ``(k, 3)`` and their weights."""
    triangles = part.vertices_mm[part.faces]
    reach = row_highs(row_norms(triangles - triangles.mean(axis=1, keepdims=True)))
    away = row_norms(row_means(triangles) - entrance_mm)
    faces = part.faces[away < REACH_MM + reach]
    facets = fine_facets(part.vertices_mm[faces], WATCHED_MM)
    vertices = np.unique(faces)
    corners = np.concatenate([np.repeat(vertices[:, None], 3, axis=1), faces[facets.face]])
    first = np.broadcast_to([1.0, 0.0, 0.0], (len(vertices), 3))
    weights = np.concatenate([first, row_means(facets.barycentric)])
    points_mm = points_at(weights, part.vertices_mm, corners)
    near = row_norms(points_mm - entrance_mm) < REACH_MM
    return corners[near], weights[near]


Beside = tuple[tuple[Part, tuple[BoolArray, BoolArray]], ...]
"""Pieces beside a lid opening, each with which of its triangles stand above it and which below."""


def beside_the_opening(parts: Sequence[Part], lids: Lids, frame: HeadFrame, fitting: Fitting) -> Beside:
    """Return those worn pieces that have something above or below an eye's opening."""
    line = _canthus_line(fitting, lids.eye.side, frame)
    if line is None:
        return ()
    of, alone = fitting.kept.of, fitting.alone
    sides = ((part, of(_sides, part, lids.on(alone(part)), frame, line)) for part in parts)
    return tuple((part, masks) for part, masks in sides if masks[0].any() or masks[1].any())


class PieceOnPiece:
    """Watches for what is worn above the lid opening meeting what is worn below it."""

    def __init__(self, beside: Beside, lids: Lids) -> None:
        self._halves = [_Half([(part, masks[which]) for part, masks in beside], lids) for which in (0, 1)]
        self._usual = set(self._pairs(0.0)) if self.watching else set()

    @property
    def watching(self) -> bool:
        """Whether there is something on either side."""
        return all(half.part_of_face for half in self._halves)

    def __call__(self, t: float) -> LidMeeting | None:
        """Return the meeting at ``t``, or None."""
        if not self.watching:
            return None
        fresh = [pair for pair in self._pairs(t) if pair not in self._usual and self._apart_mm(pair) > SEAM_MM]
        if not fresh:
            return None
        upper, lower = self._halves
        face, other = fresh[0]
        part = upper.part_of_face[face]
        at_mm = upper.surface(t).vertices_mm[upper.faces[face]].mean(axis=0)
        vertices = np.unique(
            upper.own_vertices[upper.faces[[pair[0] for pair in fresh if upper.part_of_face[pair[0]] is part]]]
        )
        return LidMeeting(t, part, lower.part_of_face[other].name, at_mm, vertices, soft=True)

    def _apart_mm(self, pair: tuple[int, int]) -> float:
        middles = [half.rest_mm[half.faces[face]].mean(axis=0) for half, face in zip(self._halves, pair, strict=True)]
        return float(np.linalg.norm(middles[0] - middles[1]))

    def _pairs(self, t: float) -> list[tuple[int, int]]:
        upper, lower = (half.surface(t) for half in self._halves)
        return [(int(one), int(other)) for one, other in upper.crossings(lower)]


class _Half:
    """Triangles of several worn pieces on one side of the lid opening, posed together."""

    def __init__(self, chosen: list[tuple[Part, BoolArray]], lids: Lids) -> None:
        self.part_of_face: list[Part] = []
        faces, own, self._posed, total = [], [], [], 0
        for part, mask in chosen:
            if mask.any():
                used, compact = np.unique(part.faces[mask], return_inverse=True)
                faces.append(compact.reshape(-1, 3) + total)
                own.append(used)
                self._posed.append(lids.poses.following(part.name, used))
                self.part_of_face.extend([part] * int(mask.sum()))
                total += len(used)
        self.faces = np.concatenate(faces) if faces else np.zeros((0, 3), np.int64)
        self.own_vertices = np.concatenate(own) if own else np.zeros(0, np.int64)
        self.rest_mm = np.concatenate([posed(0.0) for posed in self._posed]) if faces else np.zeros((0, 3))
        self._surface: Surface | None = None

    def surface(self, t: float) -> Surface:
        moved = np.concatenate([posed(t) for posed in self._posed])
        if self._surface is None:
            self._surface = Surface(moved, self.faces)
        return self._surface.refit(moved)


def _canthus_line(fitting: Fitting, side: str, frame: HeadFrame) -> FloatArray | None:
    """Return the inner and the outer corner of the eye in head coordinates, ``(2, 3)``, or None."""
    marks = fitting.snapshot.landmarks
    names = [f"endocanthion_{side}", f"exocanthion_{side}"]
    if not all(name in marks for name in names):
        return None
    return frame.coordinates(np.stack([marks[name] for name in names]))


def _sides(part: Part, lids: Lids, frame: HeadFrame, line: FloatArray) -> tuple[BoolArray, BoolArray]:
    """Return which triangles of a piece stand on skin above and which below the line between the corners of the eye."""
    middle = row_means(part.vertices_mm[part.faces])
    near = row_norms(middle - lids.eye.entrance_mm) < REACH_MM
    foot = frame.coordinates(lids.fitting.base_surface.closest(middle).point)
    share = (foot[:, 0] - line[0, 0]) / (line[1, 0] - line[0, 0])
    near &= np.isin(np.arange(len(part.faces)), worn_face_ids(part, lids.fitting))
    near &= (share > CORNER_SHARE) & (share < 1.0 - CORNER_SHARE) & (foot[:, 1] > line[:, 1].min() - BEHIND_MM)
    above = foot[:, 2] > line[0, 2] + share * (line[1, 2] - line[0, 2])
    return near & above, near & ~above
