"""How large the mouth opens, bare and with the design on, seen from the front."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...geometry import Surface
from ...model.arrays import BoolArray, FloatArray
from ...model.snapshot import Part, Role
from ...performer.fitting import Fitting
from ...performer.motion.base_motion import JAW
from ...performer.mouth.known_lips import bare_lips, worn_lips
from ...performer.mouth.lips import GapProfile, Lips
from ...performer.worn import worn_face_ids, worn_parts

STEP_MM = 1.0
AHEAD_MM = 80.0


@dataclass(frozen=True)
class MouthOpening:
    """The opening at the widest pose.

    Attributes
    ----------
    area_mm2, bare_area_mm2
        Between the lips with the design on, less what hangs before it; and between the bare lips.
    at_mm
        Its middle ``(3,)``, world space.
    """

    area_mm2: float
    bare_area_mm2: float
    at_mm: FloatArray


def mouth_opening(fitting: Fitting) -> MouthOpening | None:
    """Measure the opening at t = 1 of the jaw's motion; None where no lips are found.

    The gap between the lips is integrated across the mouth; then lines from the front are cast at it, and what
    appliances and hardware block of them is taken off. Teeth and tongue do not count: air passes them.

    Raises
    ------
    NoMotion
        When there is no motion of the jaw.
    """
    bare, worn = bare_lips(fitting), worn_lips(fitting)
    if not (bare.found and worn.found):
        return None
    before, after = bare.profile(1.0), worn.profile(1.0)
    hidden = _hidden_share(after, worn, fitting)
    return MouthOpening(gap_area_mm2(after) * (1.0 - hidden), gap_area_mm2(before), after.at_mm[after.midline])


def gap_area_mm2(profile: GapProfile) -> float:
    """Return the area between the lips, mm2: gaps over the way across, none where lips overlap or end."""
    gap = np.nan_to_num(np.maximum(profile.gap_mm, 0.0))
    return float((0.5 * (gap[1:] + gap[:-1]) * np.diff(profile.across_mm)).sum())


def _hidden_share(profile: GapProfile, lips: Lips, fitting: Fitting) -> float:
    """Return the share of the gap before which something worn hangs, seen from the front."""
    frame = lips.frame
    points, weights = [], []
    for gap, middle in zip(np.nan_to_num(profile.gap_mm), profile.at_mm, strict=True):
        if gap > 0.0:
            count = int(np.ceil(gap / STEP_MM))
            rise = ((np.arange(count) + 0.5) / count - 0.5) * gap
            points.append(middle + np.outer(rise, frame.up))
            weights.append(np.full(count, gap / count))
    if not points:
        return 0.0
    start = np.concatenate(points) + AHEAD_MM * frame.front
    along = np.broadcast_to(-frame.front, start.shape)
    hidden = np.zeros(len(start), dtype=bool)
    for part in worn_parts(fitting, Role.APPLIANCE, Role.HARDWARE):
        hidden |= fitting.kept.of(_hides, part, fitting.alone(part), start, along)
    weight = np.concatenate(weights)
    return float(weight[hidden].sum() / weight.sum())


def _hides(part: Part, alone: Fitting, start_mm: FloatArray, along: FloatArray) -> BoolArray:
    """Mark lines that a worn part stands before with the mouth wide open, ``(k,)``."""
    faces = part.faces[worn_face_ids(part, alone)]
    return Surface(alone.poses(JAW).vertices(part.name, 1.0), faces).blocked(start_mm, along, AHEAD_MM)
