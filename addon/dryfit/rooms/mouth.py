"""How high skin about the mouth may stand and the mouth still open: the inverse of the airway's check and closing's."""

from __future__ import annotations

import numpy as np

from ..checks.breath.mouth_opening import gap_area_mm2
from ..checks.closure.findings import OVER_BARE_SHARE
from ..geometry.rows import row_norms, unit_rows
from ..model.arrays import BoolArray, FloatArray, IntArray
from ..model.limits import Limits
from ..performer.fitting import Fitting
from ..performer.motion.base_motion import JAW, NoMotion
from ..performer.mouth.line import missing_landmarks
from ..performer.mouth.lips import GapProfile, Lips
from .growing import HALVINGS, steps_mm
from .skin import Ground
from .stop import Stop, nowhere, untold

CHECK = "airway"
WORDS = "the open mouth"
NEAR_MM = 60.0
ROD_MM = 5.0
MOST_MM = 20.0


def mouth_stop(fitting: Fitting, skin: Ground, limits: Limits) -> Stop:
    """Return what the open mouth leaves: its opening may be narrowed evenly from all sides to the limit."""
    missing = missing_landmarks(fitting)
    if missing:
        why = f"The mouth was not found: add the landmarks {', '.join(missing)}."
        return untold("mouth", CHECK, WORDS, skin, why, np.asarray(skin.sculpted))
    try:
        poses = fitting.poses(JAW)
        lips = Lips(fitting, poses, (fitting.base,))
    except NoMotion as error:
        return untold("mouth", CHECK, WORDS, skin, f"The open mouth was not seen: {error}.", _near(fitting, skin))
    if not lips.found:
        why = "The open mouth was not seen: no lips were found beside its landmarks."
        return untold("mouth", CHECK, WORDS, skin, why, _near(fitting, skin))
    wide = lips.profile(1.0)
    inset_mm = inset_of(wide, limits)
    vertices = np.flatnonzero(_near(fitting, skin))
    feet = poses.following(fitting.base.name, vertices)(1.0)
    rods = poses.points(skin.points_mm[vertices] + ROD_MM * skin.outward[vertices])(1.0)
    places = lips.frame.coordinates(feet)
    ways = lips.frame.coordinates(unit_rows(rods - feet))
    middles = lips.frame.coordinates(wide.at_mm)
    height = nowhere(skin)
    height[vertices] = _entered_mm(places, ways, middles, wide.gap_mm, inset_mm)
    return Stop("mouth", CHECK, WORDS, "mouth_open_area_review", height, together=True)


def _near(fitting: Fitting, skin: Ground) -> BoolArray:
    marks = fitting.snapshot.landmarks
    middle = 0.5 * (marks["stomion_superius"] + marks["stomion_inferius"])
    return np.asarray(skin.sculpted & (row_norms(skin.points_mm - middle) < NEAR_MM))


def inset_of(wide: GapProfile, limits: Limits) -> float:
    """Return how far the opening may be narrowed from above and from below, mm."""
    area_mm2, midline_mm = gap_area_mm2(wide), max(float(np.nan_to_num(wide.midline_mm)), 0.0)
    least_mm2 = max(limits.mouth_open_area_review, OVER_BARE_SHARE) * area_mm2
    low, high = 0.0, 0.5 * (1.0 - OVER_BARE_SHARE) * midline_mm
    gap, across = np.nan_to_num(np.maximum(wide.gap_mm, 0.0)), wide.across_mm

    def left_mm2(inset_mm: float) -> float:
        kept = np.maximum(gap - 2.0 * inset_mm, 0.0)
        return float((0.5 * (kept[1:] + kept[:-1]) * np.diff(across)).sum())

    if left_mm2(high) >= least_mm2:
        return high
    for _ in range(30):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if left_mm2(middle) >= least_mm2 else (low, middle)
    return low


def _entered_mm(
    places_mm: FloatArray, ways: FloatArray, middles_mm: FloatArray, gap_mm: FloatArray, inset_mm: float
) -> FloatArray:
    """Return the height at which each place stands before the narrowed opening, seen from the front, ``(k,)``, mm."""
    order = np.argsort(middles_mm[:, 0])
    across, level = middles_mm[order, 0], middles_mm[order, 2]
    half = np.maximum(0.5 * np.nan_to_num(gap_mm[order]) - inset_mm, 0.0)

    def within(which: IntArray, height: FloatArray) -> BoolArray:
        at = places_mm[which] + height[:, None] * ways[which]
        open_half = np.interp(at[:, 0], across, half, left=0.0, right=0.0)
        return np.asarray(np.abs(at[:, 2] - np.interp(at[:, 0], across, level)) < open_half)

    entered = np.full(len(places_mm), np.inf)
    low = np.zeros(len(places_mm))
    waiting = np.arange(len(places_mm))
    for step in steps_mm()[steps_mm() <= MOST_MM]:
        inside = within(waiting, np.full(len(waiting), step))
        entered[waiting[inside]] = step
        waiting = waiting[~inside]
        low[waiting] = step
    found = np.flatnonzero(np.isfinite(entered))
    for _ in range(HALVINGS):
        middle = 0.5 * (low[found] + entered[found])
        inside = within(found, middle)
        entered[found], low[found] = np.where(inside, middle, entered[found]), np.where(inside, low[found], middle)
    return entered
