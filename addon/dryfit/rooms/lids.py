"""How high skin about an eye may stand and the lids still close, clear of the eye: the inverse of the blink's check."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..checks.eyes.blink import lids_of, meet_t
from ..checks.eyes.clearance import LOOKS
from ..checks.eyes.lid_contact import NUDGE_MM, SEAM_MM, STEPS
from ..geometry.chains import distance_to_chain_mm
from ..geometry.rows import row_means, row_norms, unit_rows
from ..model.arrays import BoolArray, FloatArray, IntArray
from ..model.limits import Limits
from ..performer.eyes import SIDES
from ..performer.fitting import Fitting
from ..performer.head_frame import HeadFrame
from ..performer.lids import ZONE_MM, Lids
from .ball import touching_balls
from .skin import Ground
from .stop import Stop, nowhere, untold

CHECK = "blink"
NEAR_MM = 30.0
"""Skin nearer to the entrance pupil than this may meet a closing lid, as the check has it."""
STANDING_MM = np.concatenate([[0.05], np.arange(0.25, 6.1, 0.25)])
"""Heights at which a form's distance to the eye is read; higher ones are further off."""
EYE_NEAR_MM, EYE_DEEP_MM = 20.0, 24.0
"""A form on skin further than this from where an eyeball of usual size lies, 24 mm deep behind the pupil, stands clear
of it; and what lines its socket is no skin to sculpt on."""
NO_BALL = "How near a form comes to the {side} eye is not known: give the eyeball the role eye_{side}."
GAPS = 16
ROD_MM = 5.0
"""The skin's outward direction is followed by a point so far above it."""


@dataclass(frozen=True)
class ClosingLids:
    """One eye's lids as they close.

    Attributes
    ----------
    lids
        The bare lids.
    last_t
        Where they meet.
    gap_mm
        What they leave between them there.
    vertices
        The skin that may be in their way, ``(k,)``.
    """

    lids: Lids
    last_t: float
    gap_mm: float
    vertices: IntArray

    def open_at(self, t: float, over_mm: float) -> bool:
        """Tell whether the lids still stand further apart than they end, by more than some way."""
        return self.lids.gap_mm(t) > self.gap_mm + over_mm


def lid_stops(fitting: Fitting, skin: Ground, limits: Limits) -> list[Stop]:
    """Return what the lids of both eyes leave, and the way to each eye."""
    frame = HeadFrame.from_landmarks(fitting.snapshot.landmarks)
    lids_height, eye_height, stops = nowhere(skin), nowhere(skin), []
    for side in SIDES:
        lids = lids_of(fitting, side, frame)
        if isinstance(lids, str):
            where = _about(fitting, skin, side, frame)
            stops.append(untold(f"lids_{side}", CHECK, f"the {side} lids", skin, lids, where))
            continue
        closing = _closing(lids, skin)
        if lids.eye.part is None:
            socket = np.stack([lids.eye.entrance_mm, lids.eye.entrance_mm - EYE_DEEP_MM * frame.front])
            near = distance_to_chain_mm(skin.points_mm, socket) < EYE_NEAR_MM
            why = NO_BALL.format(side=side)
            stops.append(untold(f"eye_{side}", CHECK, f"the {side} eye", skin, why, np.asarray(skin.sculpted & near)))
        _keep_lids_free(lids_height, closing, skin, limits)
        _keep_off_the_eye(eye_height, closing, skin, limits)
    stops.append(Stop("lids", CHECK, "lids that close", "lid_gap_review_mm", lids_height))
    stops.append(Stop("eye", CHECK, "the eye", "eye_clearance_review_mm", eye_height))
    return stops


def _about(fitting: Fitting, skin: Ground, side: str, frame: HeadFrame) -> BoolArray:
    """Tell which skin a lid that cannot be read could have met: about the eye, or all where that is not known."""
    marks = [f"{name}_{side}" for name in ("pupil", "endocanthion", "exocanthion")]
    known = [fitting.snapshot.landmarks[name] for name in marks if name in fitting.snapshot.landmarks]
    if not known:
        return np.asarray(skin.sculpted & (skin.outward @ frame.front > 0.0))
    return np.asarray(skin.sculpted & (row_norms(skin.points_mm - np.mean(known, axis=0)) < NEAR_MM))


def _closing(lids: Lids, skin: Ground) -> ClosingLids:
    gap_by_t = np.array([[t, lids.gap_mm(float(t))] for t in np.linspace(0.0, 1.0, GAPS + 1)])
    last_t = meet_t(lids, gap_by_t)
    near = row_norms(skin.points_mm - lids.eye.entrance_mm) < NEAR_MM
    return ClosingLids(lids, last_t, lids.gap_mm(last_t), np.flatnonzero(skin.sculpted & near))


def _keep_lids_free(height: FloatArray, closing: ClosingLids, skin: Ground, limits: Limits) -> None:
    """Lower heights to where a form is pressed into a lid, or meets one on the other side, before the lids are shut."""
    vertices, lids = closing.vertices, closing.lids
    feet = lids.poses.following(lids.fitting.base.name, vertices)
    rods = lids.poses.points(skin.points_mm[vertices] + ROD_MM * skin.outward[vertices])
    upper = _above(closing, skin)
    start = _free_way(lids, 0.0, feet(0.0), unit_rows(rods(0.0) - feet(0.0)))
    for t in np.linspace(0.0, closing.last_t, STEPS + 1)[1:].tolist():
        if closing.open_at(t, limits.lid_gap_review_mm):
            way = _free_way(lids, t, feet(t), unit_rows(rods(t) - feet(t)))
            met = np.isfinite(way) & (np.minimum(start, 2.0 * ZONE_MM) - way > limits.lid_contact_mm)
            height[vertices[met]] = np.minimum(height[vertices[met]], way[met] + limits.lid_contact_mm)
        if closing.open_at(t, limits.lid_gap_review_mm + limits.lid_contact_mm):
            _meet_across(height, closing, t, feet(t), unit_rows(rods(t) - feet(t)), upper)


def _free_way(lids: Lids, t: float, feet_mm: FloatArray, ways: FloatArray) -> FloatArray:
    """Return how far each way out is free of other skin at ``t``, ``(k,)``, mm."""
    return np.asarray(lids.skin(t).first_hit(feet_mm + NUDGE_MM * ways, ways, ZONE_MM).distance_mm + NUDGE_MM)


def _above(closing: ClosingLids, skin: Ground) -> FloatArray:
    """Return how far each vertex of the base is above the line between the corners of the eye, ``(n,)``, mm."""
    lids, marks = closing.lids, closing.lids.fitting.snapshot.landmarks
    ends = [marks.get(f"{name}_{lids.eye.side}") for name in ("endocanthion", "exocanthion")]
    places = lids.frame.coordinates(skin.points_mm)
    if ends[0] is None or ends[1] is None:
        level = lids.frame.coordinates(lids.eye.entrance_mm[None])[0, 2]
        return np.asarray(places[:, 2] - level)
    inner, outer = lids.frame.coordinates(np.stack([ends[0], ends[1]]))
    share = (places[:, 0] - inner[0]) / (outer[0] - inner[0])
    return np.asarray(places[:, 2] - inner[2] - share * (outer[2] - inner[2]))


def _meet_across(
    height: FloatArray, closing: ClosingLids, t: float, feet_mm: FloatArray, ways: FloatArray, above_mm: FloatArray
) -> None:
    """Lower heights to where a form above the lids' opening meets one below it, both built up alike."""
    lids, vertices = closing.lids, closing.vertices
    surface = lids.skin(t)
    balls = touching_balls(surface, feet_mm, ways, np.minimum(height[vertices], STANDING_MM[-1]))
    met = np.flatnonzero(balls.face >= 0)
    corners = lids.vertex_ids[surface.faces[balls.face[met]]]
    across = np.sign(row_means(above_mm[corners])) != np.sign(above_mm[vertices[met]])
    apart = row_norms(_rest(lids, corners) - _rest(lids, vertices[met][:, None])) > SEAM_MM
    kept = met[across & apart]
    height[vertices[kept]] = np.minimum(height[vertices[kept]], balls.radius_mm[kept])


def _rest(lids: Lids, vertices: IntArray) -> FloatArray:
    return np.asarray(row_means(lids.fitting.base.vertices_mm[vertices]))


def _keep_off_the_eye(height: FloatArray, closing: ClosingLids, skin: Ground, limits: Limits) -> None:
    """Lower heights to where a form that no skin shields comes too near to the eyeball."""
    lids, vertices = closing.lids, closing.vertices
    if lids.eye.part is None:
        return
    feet = lids.poses.following(lids.fitting.base.name, vertices)
    rods = lids.poses.points(skin.points_mm[vertices] + ROD_MM * skin.outward[vertices])
    for t in np.linspace(0.0, closing.last_t, LOOKS).tolist():
        ball, ways = lids.eyeball(t), unit_rows(rods(t) - feet(t))
        for standing in STANDING_MM.tolist():
            waiting = np.flatnonzero(height[vertices] > standing)
            points = feet(t)[waiting] + standing * ways[waiting]
            near = ball.closest(points)
            close = np.flatnonzero(near.distance_mm < limits.eye_clearance_review_mm)
            along = near.point[close] - points[close]
            length = row_norms(along)
            along[length == 0.0] = lids.frame.front
            bare = ~lids.skin(t).blocked(points[close], along, length)
            below = STANDING_MM[max(int(np.searchsorted(STANDING_MM, standing)) - 1, 0)]
            height[vertices[waiting[close[bare]]]] = 0.0 if standing == STANDING_MM[0] else below
