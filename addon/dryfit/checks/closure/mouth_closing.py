"""The mouth of a fitting in one motion, ready to be closed."""

from __future__ import annotations

import numpy as np

from ...model.arrays import FloatArray
from ...model.brief import Brief
from ...performer.fitting import Fitting
from ...performer.motion.poses import Poses
from ...performer.mouth.lips import Lips
from .closing import HINGED_PAST_DEG, KEYED_PAST_T, Mouth
from .contact import Watch, meeting_pairs, mouth_pairs


def mouth_of(fitting: Fitting, poses: Poses, lips: Lips, allowed: FloatArray) -> Mouth:
    """Return all that is needed to close a mouth; ``allowed`` ``(s,)`` is the gap that counts as met, mm."""
    hinge = poses.source.hinge
    past_t = KEYED_PAST_T if hinge is None else -float(np.radians(HINGED_PAST_DEG)) / hinge.open_rad
    return Mouth(lips, watches_of(fitting, poses, lips), allowed, give_mm(poses, fitting.brief), past_t)


def watches_of(fitting: Fitting, poses: Poses, lips: Lips) -> tuple[Watch, ...]:
    """Return what can stop the mouth, ready to be watched."""
    pairs = mouth_pairs(fitting, poses, lips.upper, lips.lower)
    watches = (Watch(pair) for pair in meeting_pairs(pairs))
    return tuple(watch for watch in watches if watch.watching)


def give_mm(poses: Poses, brief: Brief) -> float:
    """Return how far a lip gives way to a tooth before the jaw stops, mm.

    On a face sculpted with an open mouth the lips stand where the open jaw drags them; what they travel with ease on
    their own comes on top.
    """
    limits = brief.limits
    return limits.lip_yield_mm + (limits.lip_gap_review_mm if poses.source.rest_t > 0.0 else 0.0)
