"""How high skin may stand before it enters the field that must stay free: the inverse of the check of sight."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from ..checks.eyes.field_of_view import LID_REACH_MM, Obstacle, Outlook
from ..checks.eyes.sightline import (
    BREAK_DEG,
    ELLIPSE_AHEAD_MM,
    ELLIPSE_DOWN_MM,
    ELLIPSE_MM,
    ELLIPSE_OUT_MM,
    LOSS_DEG,
    WAYS,
    WIDEST_DEG,
    field_directions,
    head_axes_of,
    off_axis_deg,
    share,
)
from ..geometry import Surface
from ..geometry.rows import row_any, row_norms
from ..geometry.sphere_directions import first_break_deg, meridian_directions
from ..model.arrays import BoolArray, FloatArray, IntArray
from ..model.limits import Limits
from ..model.progress import Job, Progress
from ..performer.eyes import SIDES, Eye, find_eye
from ..performer.fitting import Fitting
from ..performer.head_frame import HeadFrame
from .growing import even_height_mm, first_entry_mm, passing_mm
from .skin import REACH_MM, Ground
from .stop import Stop, nowhere, untold
from .ways import Ways

CHECK = "sightline"
SLOPE = 1.0
"""Skin that is built up evenly rises from the lids at this slope: the lids themselves lift, and take no part in it."""
LEEWAY_DEG = 2.0
"""Half width of the strip about a line of sight that is kept free: triangles between two vertices reach across it."""
NO_EYE = (
    "There is no eye to look from. Add the landmarks pupil_left and pupil_right (front of each cornea), or give the "
    "eyeballs the roles eye_left and eye_right."
)
ONE_EYE = "The {side} eye was not found: add the landmark pupil_{side}."


@dataclass(frozen=True)
class Looker:
    """One eye and what the bare head leaves of its field.

    Attributes
    ----------
    free
        The ways from its entrance pupil that nothing bare ends.
    lid
        Those of all ways that pass through a lid near by.
    """

    eye: Eye
    frame: HeadFrame
    outlook: Outlook
    free: Ways
    lid: Ways

    @classmethod
    def of(cls, eye: Eye, frame: HeadFrame, outlook: Outlook) -> Looker:
        """Look out of one bare eye."""
        grid = Ways.about(frame.front, frame.up, eye.entrance_mm, WIDEST_DEG)
        bare = outlook.look(eye.entrance_mm, grid.directions).bare
        lid = outlook.base.blocked(eye.entrance_mm + 1e-3 * grid.directions, grid.directions, LID_REACH_MM)
        return cls(eye, frame, outlook, grid.holding(bare), grid.holding(lid))

    def hides(self, points_mm: FloatArray, of: Ways) -> BoolArray:
        """Tell which points ``(k, 3)`` stand in one of some ways and count there: not as lids do, ``(k,)``."""
        within = of.holds(points_mm)
        near = np.flatnonzero(within & (row_norms(points_mm - self.eye.entrance_mm) < LID_REACH_MM))
        within[near] = ~self.lid.holds(points_mm[near])
        return within

    def ends_deg(self, way: str) -> float:
        """Return how far this bare eye sees to one of ``WAYS``, degrees."""
        rays = meridian_directions(head_axes_of(self.frame), WAYS[way], off_axis_deg())
        seen = self.outlook.look(self.eye.entrance_mm, rays).bare
        return first_break_deg(off_axis_deg(), ~seen, BREAK_DEG)


def sight_stops(fitting: Fitting, skin: Ground, limits: Limits) -> Job[list[Stop]]:
    """Return what sight leaves: the ellipse, the ways to the sides and down, and the share of the field."""
    frame = HeadFrame.from_landmarks(fitting.snapshot.landmarks)
    eyes = [eye for eye in (find_eye(fitting, side, frame) for side in SIDES) if eye is not None]
    if not eyes:
        return [untold("sight", CHECK, "sight", skin, NO_EYE)]
    outlook = Outlook(skin.surface, [], fitting.kept)
    lookers = []
    for number, eye in enumerate(eyes):
        yield Progress(number, 4, f"what the bare {eye.side} eye sees")
        lookers.append(Looker.of(eye, frame, outlook))
    stops = [_ellipse(lookers, skin, limits), *_lines(lookers, skin, limits)]
    yield Progress(3, 4, "how far the skin round the eyes may be built up evenly")
    stops.append(_field(lookers, skin, limits, fitting))
    stops += [_missing_eye(side, lookers, skin) for side in SIDES if side not in {eye.side for eye in eyes}]
    return stops


def _missing_eye(side: str, lookers: list[Looker], skin: Ground) -> Stop:
    frame = lookers[0].frame
    off = (skin.points_mm - lookers[0].eye.entrance_mm) @ frame.left
    where = off > 0.0 if side == "left" else off < 0.0
    return untold(f"sight_{side}", CHECK, f"sight of the {side} eye", skin, ONE_EYE.format(side=side), where)


def _ahead(skin: Ground, looker: Looker) -> IntArray:
    """Return the vertices that could come before an eye: those not behind all that it sees, ``(k,)``."""
    depth = (skin.points_mm - looker.eye.entrance_mm) @ looker.frame.front
    growth = skin.outward @ looker.frame.front
    far = row_norms(skin.points_mm - looker.eye.entrance_mm)
    reach = np.cos(np.radians(WIDEST_DEG)) * (far + REACH_MM)
    return np.flatnonzero(skin.sculpted & (depth + np.maximum(growth, 0.0) * REACH_MM > reach))


def _ellipse(lookers: list[Looker], skin: Ground, limits: Limits) -> Stop:
    height = nowhere(skin)
    for looker in lookers:
        among = _ahead(skin, looker)
        entry = first_entry_mm(skin, among, partial(_in_ellipse, looker))
        height[among] = np.minimum(height[among], entry)
    return Stop("sight_ellipse", CHECK, "sight straight ahead", "sight_ellipse_cut", height)


def _in_ellipse(looker: Looker, points_mm: FloatArray, _: IntArray) -> BoolArray:
    """Tell which points stand in an eye's ellipse of the eye-protector standard, where the bare head leaves it."""
    left, front, up = looker.frame.coordinates(points_mm - looker.eye.apex_mm).T
    outward = ELLIPSE_OUT_MM if looker.eye.side == "left" else -ELLIPSE_OUT_MM
    with np.errstate(divide="ignore", invalid="ignore"):
        across = (left / front * ELLIPSE_AHEAD_MM - outward) / ELLIPSE_MM[0]
        upward = (up / front * ELLIPSE_AHEAD_MM + ELLIPSE_DOWN_MM) / ELLIPSE_MM[1]
        inside = (front > 0.0) & (across**2 + upward**2 < 1.0)
    asked = np.flatnonzero(inside)
    inside[asked] = looker.hides(points_mm[asked], looker.free)
    return np.asarray(inside)


def _lines(lookers: list[Looker], skin: Ground, limits: Limits) -> Iterator[Stop]:
    """Yield what the widths to both sides and the view of the ground leave free, each along its own line of sight."""
    seen = {way: max(looker.ends_deg(way) for looker in lookers) for way in WAYS}
    width = min(limits.sight_width_review_deg, seen["left"] + seen["right"] - LOSS_DEG)
    both = len(lookers) == len(SIDES)
    for way, other in (("left", "right"), ("right", "left")):
        wide = max(0.5 * width, width - seen[other], min(limits.sight_side_deg, seen[way] - LOSS_DEG))
        own = [looker for looker in lookers if looker.eye.side == way or not both]
        words = f"sight to the {way}"
        yield Stop(f"sight_{way}", CHECK, words, "sight_width_review_deg", _kept(own, way, wide, skin), together=True)
    low = min(max(limits.sight_down_review_deg, limits.sight_down_deg), seen["down"] - LOSS_DEG)
    yield Stop(
        "sight_down", CHECK, "sight downward", "sight_down_review_deg", _kept(lookers, "down", low, skin), together=True
    )


def _kept(lookers: list[Looker], way: str, out_to_deg: float, skin: Ground) -> FloatArray:
    """Return heights ``(n,)`` that leave a line of sight free out to an angle."""
    height = nowhere(skin)
    for looker in lookers:
        among = _ahead(skin, looker)
        entry = first_entry_mm(skin, among, partial(_on_line, looker, way, out_to_deg + BREAK_DEG))
        height[among] = np.minimum(height[among], entry)
    return height


def _on_line(looker: Looker, way: str, out_to_deg: float, points_mm: FloatArray, _: IntArray) -> BoolArray:
    left, front, up = looker.frame.coordinates(points_mm - looker.eye.entrance_mm).T
    turn = np.radians(WAYS[way])
    along, beside = np.cos(turn) * left + np.sin(turn) * up, -np.sin(turn) * left + np.cos(turn) * up
    off_deg = np.degrees(np.arctan2(along, front))
    far = np.hypot(along, front)
    inside = (off_deg > 0.0) & (off_deg < out_to_deg) & (np.abs(beside) < np.tan(np.radians(LEEWAY_DEG)) * far)
    asked = np.flatnonzero(inside)
    inside[asked] = looker.hides(points_mm[asked], looker.free)
    return np.asarray(inside)


def _field(lookers: list[Looker], skin: Ground, limits: Limits, fitting: Fitting) -> Stop:
    """Return what the share of the field leaves: what an even build-up to the limit would hide may be hidden."""
    field = _EvenField(lookers, skin, fitting)
    even = even_height_mm(lambda height: field.allowed(field.even(height), limits))
    height = nowhere(skin)
    if np.isfinite(even):
        for looker, left in zip(lookers, field.left_free(field.even(even)), strict=True):
            among = _ahead(skin, looker)

            def within(points_mm: FloatArray, _: IntArray, looker: Looker = looker, left: Ways = left) -> BoolArray:
                return looker.hides(points_mm, left)

            height[among] = np.minimum(height[among], first_entry_mm(skin, among, within))
        height = passing_mm(skin, height, lambda heights: field.allowed(heights, limits))
    words = "the share of the field that must be left"
    return Stop("sight_share", CHECK, words, "sight_eye_fraction", height, together=True)


class _EvenField:
    """The field of both eyes over a skin that is built up evenly all round them."""

    def __init__(self, lookers: list[Looker], skin: Ground, fitting: Fitting) -> None:
        self.lookers, self.skin, self.fitting = lookers, skin, fitting
        away = [row_norms(skin.points_mm - looker.eye.entrance_mm) for looker in lookers]
        self._most_mm = np.where(skin.sculpted, SLOPE * np.maximum(np.min(away, axis=0) - LID_REACH_MM, 0.0), 0.0)
        self._faces = np.asarray(skin.faces[row_any(skin.sculpted[skin.faces])])
        self._surface: Surface | None = None

    def even(self, height_mm: float) -> FloatArray:
        """Return the heights ``(n,)`` of an even build-up, which rises from the lids."""
        return np.asarray(np.minimum(height_mm, self._most_mm))

    def _outlook(self, height_mm: FloatArray) -> Outlook:
        moved = self.skin.grown(height_mm)
        if self._surface is None:
            self._surface = Surface(moved, self._faces, facing_out=True)
        grown = self._surface.refit(moved)
        obstacles = [Obstacle(self.fitting.base, grown, np.arange(len(self._faces)))]
        return Outlook(self.skin.surface, obstacles, self.fitting.kept)

    def allowed(self, height_mm: FloatArray, limits: Limits) -> bool:
        """Tell whether every share of the field that the check asks for is left."""
        outlook = self._outlook(height_mm)
        rays = field_directions(self.lookers[0].frame)
        sights = [outlook.look(looker.eye.entrance_mm, rays) for looker in self.lookers]
        bare, worn = (np.any([getattr(sight, which) for sight in sights], axis=0) for which in ("bare", "worn"))
        joined = worn.sum() >= limits.sight_fraction * bare.sum()
        return bool(joined and all(not share(sight) < limits.sight_eye_fraction for sight in sights))

    def left_free(self, height_mm: FloatArray) -> list[Ways]:
        """Return the ways that such a skin leaves each eye."""
        outlook = self._outlook(height_mm)
        return [
            looker.free.holding(outlook.look(looker.eye.entrance_mm, looker.free.directions).worn)
            for looker in self.lookers
        ]
