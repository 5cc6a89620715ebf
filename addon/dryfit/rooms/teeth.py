"""How much longer each tooth may become: until the mouth stays open, the lips lose it, or flesh is met."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..geometry import Surface
from ..geometry.rows import highs, lows, row_all, row_any, row_norms
from ..model.arrays import FloatArray, IntArray
from ..model.progress import Job, Progress
from ..model.snapshot import Part, Role
from ..performer.fitting import Fitting
from ..performer.head_frame import HeadFrame
from ..performer.motion.base_motion import JAW, NoMotion
from ..performer.motion.poses import Poses
from ..performer.mouth.line import missing_landmarks
from ..performer.tooth_names import pieces_of, teeth_of, tooth_name
from ..performer.views import missing_cameras, view_points

LONGEST_MM = 30.0
TIP_MM = 1.0
"""What of a crown lies within this of its tip is carried on as it grows longer."""
CROWN_MM, TAPER_MM = 5.0, 4.0
"""A tooth grows longer by what lies within the first of its tip, over the second more and more."""
STEP_MM = 0.25
BODY_T = (0.0, 0.05)
HALVINGS = 6
POSES_T = (0.0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)
LIFT_MM = 0.02
INCISOR = "incisor"
NO_TEETH = "There are no teeth: give the rows the roles upper_teeth and lower_teeth."
NO_MOUTH = "How teeth and lips meet is not known: add {marks}."
NO_FRAME = "Which way is up on this head is not known: add the landmarks sellion and gnathion."
NOTHING = "nothing within reach"


@dataclass(frozen=True)
class ToothRoom:
    """How much longer one tooth may become, mm; nan where that cannot be told.

    Attributes
    ----------
    name, part
        The tooth, and the row it is of.
    closing_mm, tissue_mm, cover_mm
        Until it meets opposing teeth, until it is pressed into flesh further than that gives way, and until more of it
        shows than may; inf where nothing does within ``LONGEST_MM``.
    """

    name: str
    part: str
    closing_mm: float
    tissue_mm: float
    cover_mm: float

    @property
    def longer_mm(self) -> float:
        """The least of the three; nan where one of them cannot be told."""
        return float(np.min([self.closing_mm, self.tissue_mm, self.cover_mm, LONGEST_MM]))

    @property
    def stop(self) -> str:
        """What stops it, in words."""
        if np.isnan(self.longer_mm):
            return ""
        ways = {
            "the mouth no longer shuts on the other teeth": self.closing_mm,
            "it presses into flesh": self.tissue_mm,
            "the lips no longer cover it": self.cover_mm,
        }
        least = min(ways, key=lambda words: ways[words])
        return least if ways[least] <= LONGEST_MM else NOTHING


@dataclass(frozen=True)
class TeethRoom:
    """Room for teeth.

    Attributes
    ----------
    teeth
        Each tooth of both arches; a row without marked teeth counts as one.
    slabs
        The same for a slab over all incisors of a row.
    why
        What cannot be told and what to add, or ``""``.
    """

    teeth: tuple[ToothRoom, ...] = ()
    slabs: tuple[ToothRoom, ...] = ()
    why: str = ""


@dataclass(frozen=True)
class GrowingTooth:
    """One tooth as it grows longer.

    Attributes
    ----------
    tips_mm
        Places of its tip, jaw closed, ``(k, 3)``.
    toward
        The way it grows, unit ``(3,)``.
    lower
        Whether it moves with the jaw.
    vertices_mm, faces
        The tooth itself, jaw closed, ``(n, 3)`` and ``(m, 3)``.
    """

    name: str
    part: Part
    tips_mm: FloatArray
    toward: FloatArray
    lower: bool
    vertices_mm: FloatArray
    faces: IntArray

    def longer_mm(self, by_mm: float) -> FloatArray:
        """Return the tooth grown longer, ``(n, 3)``: its tip by so much, its crown by less and less."""
        height = self.vertices_mm @ self.toward
        share = np.clip((height - height.max() + CROWN_MM) / TAPER_MM, 0.0, 1.0)
        return np.asarray(self.vertices_mm + by_mm * share[:, None] * self.toward)


def teeth_room(fitting: Fitting) -> Job[TeethRoom]:
    """Return how much longer the teeth may become on the bare head, with the rows that are there."""
    rows = fitting.snapshot.with_role(Role.UPPER_TEETH, Role.LOWER_TEETH)
    frame, missing = HeadFrame.from_landmarks(fitting.snapshot.landmarks), missing_landmarks(fitting)
    if not rows or frame.assumed or missing:
        lacking = NO_MOUTH.format(marks=f"the landmarks {', '.join(missing)}") if missing else NO_FRAME
        return TeethRoom(why=lacking if rows else NO_TEETH)
    try:
        poses = fitting.poses(JAW)
    except NoMotion as error:
        return TeethRoom(why=f"How teeth meet is not known: {error}.")
    growths = [growth for row in rows for growth in _growths(row, poses, frame)]
    stage = _Mouth(fitting, poses, frame, rows)
    found = []
    for number, growth in enumerate(growths):
        yield Progress(number, len(growths), f"room for the {growth.name}")
        found.append(stage.room(growth))
    alone = {row.role for row in rows}
    why = "" if len(alone) == 2 else "Only one row of teeth is there, so how the teeth meet is not known."
    return TeethRoom(tuple(found), tuple(_slabs(found)), why)


def _growths(row: Part, poses: Poses, frame: HeadFrame) -> Iterator[GrowingTooth]:
    lower = row.role == Role.LOWER_TEETH
    toward = frame.up if lower else -frame.up
    closed_mm = poses.vertices(row.name, 0.0)
    marked = {tooth_name(number) for number in teeth_of(row)}
    for name, vertices in pieces_of(row):
        if marked and name not in marked:
            continue  # gums
        height = closed_mm[vertices] @ toward
        tips = closed_mm[vertices[height > height.max() - TIP_MM]]
        own = np.zeros(len(closed_mm), bool)
        own[vertices] = True
        used, faces = np.unique(row.faces[row_all(own[row.faces])], return_inverse=True)
        yield GrowingTooth(name, row, tips, toward, lower, closed_mm[used], faces.reshape(-1, 3))


def _slabs(found: list[ToothRoom]) -> Iterator[ToothRoom]:
    """Yield the room of a slab over the incisors of each row: the least of any of them."""
    for row in dict.fromkeys(tooth.part for tooth in found):
        own = [tooth for tooth in found if tooth.part == row and INCISOR in tooth.name]
        if own:
            least = [min(getattr(tooth, which) for tooth in own) for which in ("closing_mm", "tissue_mm", "cover_mm")]
            yield ToothRoom(f"slab over the incisors of '{row}'", row, *least)


class _Mouth:
    """The mouth at some poses of the jaw, in the frame of the skull."""

    def __init__(self, fitting: Fitting, poses: Poses, frame: HeadFrame, rows: tuple[Part, ...]) -> None:
        self._fitting, self._poses, self._frame, self._rows = fitting, poses, frame, rows
        self._indexed: dict[tuple[str, float], Surface] = {}
        self._faces = np.asarray(fitting.base_surface.oriented_faces)
        near = self._near_the_mouth()
        self._used, compact = np.unique(self._faces[near], return_inverse=True)
        self._compact = compact.reshape(-1, 3)
        self._skin = poses.following(fitting.base.name, self._used)
        brief, snapshot = fitting.brief, fitting.snapshot
        marks = snapshot.landmarks
        middle = 0.5 * (marks["stomion_superius"] + marks["stomion_inferius"])
        known = not missing_cameras(brief.views, snapshot.cameras)
        self._views = view_points(brief.views, snapshot, frame, middle) if known else ()

    def _row(self, row: Part, t: float) -> Surface:
        if (row.name, t) not in self._indexed:
            self._indexed[row.name, t] = Surface(self._poses.vertices(row.name, t), row.faces)
        return self._indexed[row.name, t]

    def _flesh(self, t: float) -> Surface:
        if ("", t) not in self._indexed:
            self._indexed["", t] = Surface(self._skin(t), self._compact, facing_out=True)
        return self._indexed["", t]

    def _near_the_mouth(self) -> IntArray:
        rows_mm = np.concatenate([row.vertices_mm for row in self._rows])
        low, high = lows(rows_mm) - LONGEST_MM, highs(rows_mm) + LONGEST_MM
        inside = row_all((self._fitting.base.vertices_mm > low) & (self._fitting.base.vertices_mm < high))
        return np.flatnonzero(row_any(inside[self._faces]))

    def room(self, growth: GrowingTooth) -> ToothRoom:
        """Return how much longer a tooth may become."""
        limits = self._fitting.brief.limits
        opposing = [row for row in self._rows if (row.role == Role.LOWER_TEETH) != growth.lower]
        closing, tissue = np.nan if not opposing else np.inf, np.inf
        for t in POSES_T:
            tips, toward = self._posed(growth, t)
            for row in opposing:
                reach = self._reach(self._row(row, t), tips, toward)
                closing = min(closing, reach + limits.overlap_hard_review_mm)
            skin = self._flesh(t)
            tissue = min(tissue, self._reach(skin, tips, toward) + limits.lip_yield_mm)
        for t in BODY_T if len(growth.faces) else ():
            for row in opposing:
                closing = min(closing, self._until_deep(growth, row, t, closing))
        return ToothRoom(growth.name, growth.part.name, closing, tissue, self._cover_mm(growth))

    def _posed(self, growth: GrowingTooth, t: float) -> tuple[FloatArray, FloatArray]:
        if not growth.lower:
            return growth.tips_mm, growth.toward
        turn = self._poses.bones.jaw(t).after(self._poses.bones.jaw(0.0).inverse)
        tips = np.asarray(turn.apply(growth.tips_mm))
        return tips, np.asarray(turn.apply(growth.tips_mm[:1] + growth.toward)[0] - tips[0])

    def _until_deep(self, growth: GrowingTooth, row: Part, t: float, most_mm: float) -> float:
        """Return how long the tooth may become until it or an opposing one is deeper in the other than grazes do."""
        turn = self._poses.bones.jaw(t).after(self._poses.bones.jaw(0.0).inverse)
        other = self._row(row, t)
        forgiven = self._fitting.brief.limits.overlap_hard_review_mm

        def deepest(by_mm: float) -> float:
            moved = growth.longer_mm(by_mm)
            tooth = Surface(turn.apply(moved) if growth.lower else moved, growth.faces)
            low, high = lows(tooth.vertices_mm), highs(tooth.vertices_mm)
            near = np.flatnonzero(row_all((other.vertices_mm > low) & (other.vertices_mm < high)))
            into = np.concatenate(
                [other.clearance_mm(tooth.vertices_mm), tooth.clearance_mm(other.vertices_mm[near]), [0.0]]
            )
            return float(-np.nanmin(into))

        least = deepest(0.0) + forgiven
        heights = np.arange(0.0, min(most_mm, LONGEST_MM) + 0.5, 0.5)
        deep = next((height for height in heights[1:] if deepest(height) > least), np.inf)
        if not np.isfinite(deep):
            return float("inf")
        low, high = deep - 0.5, deep
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            low, high = (low, middle) if deepest(middle) > least else (middle, high)
        return float(low)

    @staticmethod
    def _reach(body: Surface, tips_mm: FloatArray, toward: FloatArray) -> float:
        along = np.broadcast_to(toward, tips_mm.shape)
        hit = body.first_hit(tips_mm + LIFT_MM * toward, along, LONGEST_MM)
        return float(hit.distance_mm.min())

    def _cover_mm(self, growth: GrowingTooth) -> float:
        """Return how long the tooth may become until more of it shows than is looked at, mouth closed."""
        if not self._views:
            return float("nan")
        skin = self._flesh(0.0)
        others = [self._row(row, 0.0) for row in self._rows]
        most_mm = self._fitting.brief.limits.tooth_display_review_mm
        heights = np.arange(0.0, LONGEST_MM + STEP_MM / 2.0, STEP_MM)
        worst = np.inf
        for view in self._views:
            points = (growth.tips_mm[None] + heights[:, None, None] * growth.toward).reshape(-1, 3)
            away = view.eye_mm - points
            far = row_norms(away)
            seen = ~skin.blocked(points + LIFT_MM * growth.toward, away, far)
            for body in others:
                asked = np.flatnonzero(seen)
                seen[asked] = ~body.blocked(points[asked] + LIFT_MM * growth.toward, away[asked], far[asked])
            shown = row_any(seen.reshape(len(heights), -1))
            if shown.any():
                worst = min(worst, float(heights[shown].min()) + most_mm)
        return worst
