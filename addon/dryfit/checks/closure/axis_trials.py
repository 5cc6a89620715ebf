"""Does the answer hang on the hinge's axis? The mouth is closed again with the axis moved."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ...geometry.rigid import RigidMotion
from ...model.arrays import FloatArray
from ...model.brief import HingeBrief
from ...model.finding import Severity
from ...model.limits import Limits
from ...model.progress import Job, Progress
from ...model.snapshot import TISSUE
from ...performer.closing import Closing, Mouth, close_mouth, mouth_of
from ...performer.fitting import Fitting
from ...performer.head_frame import HeadFrame
from ...performer.motion.base_motion import hinged, lower_incisal_mm, placed_hinge, stated_hinge
from ...performer.motion.hinge import Hinge
from ...performer.motion.poses import Poses
from ...performer.mouth.lips import Lips
from .lip_reach import SEVERITIES, LipReach, reach_of

EXPECTED, WORST = 1.0, 2.0
"""The axis is moved by ``axis_sensitivity_mm``, and by twice that. One guessed from skin points lies within 5 mm of the
true one in 58 to 98 of 100 people, 2.8-9.3 mm off in one series (Simpson et al. 1984, J Prosthet Dent): 5 mm is to be
expected, 10 mm is the worst."""
WAYS = ("ahead", "back", "up", "down")
TRIAL_STEPS = 16


@dataclass(frozen=True)
class AxisTrial:
    """One closing with the axis moved.

    Attributes
    ----------
    offset_mm, way
        By how much, and where to.
    gap_mm
        Largest gap along the lips where the jaw stopped.
    reach
        What that asks of the lips.
    blocked
        Whether something stopped the jaw on its way; teeth that meet on a mouth found open are its bite.
    bite_ahead_mm
        How far the lower jaw's front then stands ahead of where it stands with the axis as found.
    """

    offset_mm: float
    way: str
    gap_mm: float
    reach: LipReach
    blocked: bool
    bite_ahead_mm: float

    @property
    def severity(self) -> Severity:
        """How bad it is."""
        return closing_severity(self.reach, self.blocked)


def closing_severity(reach: LipReach, blocked: bool) -> Severity:
    """Return how bad a closing is; a note is a pass, and what is blocked is never better than to be reviewed."""
    severity = SEVERITIES[reach]
    return severity.or_worse(Severity.REVIEW) if blocked else severity


def axis_trials(fitting: Fitting, poses: Poses, mouth: Mouth) -> Job[tuple[AxisTrial, ...]]:
    """Close the mouth with the axis moved each way; nothing where the jaw is keyed.

    Moves along the axis itself change nothing and are left out.

    Yields
    ------
    Progress
        Axes tried.
    """
    stated = stated_hinge(fitting.snapshot, fitting.brief, poses.name)
    offsets_mm = trial_offsets_mm(fitting.brief.limits)
    if poses.source.hinge is None or stated is None or not offsets_mm:
        return ()
    trials = []
    bite_mm = bite_ahead_mm(fitting, poses.source.hinge, (yield from _closing_on(mouth)).stop.t)
    for number, (offset_mm, way, direction) in enumerate(_moves(mouth.lips.frame, offsets_mm), start=1):
        yield Progress(number, len(offsets_mm) * len(WAYS), "moving the jaw's axis")
        moved = poses_on(fitting, poses, stated, offset_mm * direction)
        lips = Lips(fitting, moved, fitting.snapshot.with_role(*TISSUE))
        trial = yield from mouth_of(fitting, moved, lips, mouth.allowed_mm, TRIAL_STEPS)
        closing = yield from _closing_on(trial)
        assert moved.source.hinge is not None
        ahead_mm = bite_ahead_mm(fitting, moved.source.hinge, closing.stop.t) - bite_mm
        gap_mm = closing.stop.largest_mm
        reach = reach_of(gap_mm, closing.sealed, fitting.brief.limits)
        blocked = closing.contact is not None and closing.contact.t > 0.0 and not closing.sealed
        open_scan = poses.source.rest_t > 0.0
        trials.append(AxisTrial(offset_mm, way, gap_mm, reach, blocked and not open_scan, ahead_mm))
    return tuple(trials)


def _closing_on(mouth: Mouth) -> Job[Closing]:
    return (yield from close_mouth(mouth, TRIAL_STEPS, with_profiles=False))


def trial_offsets_mm(limits: Limits) -> tuple[float, ...]:
    """Return by how much the axis is moved, mm; nothing where it is stated to be known."""
    off_mm = limits.axis_sensitivity_mm
    return (EXPECTED * off_mm, WORST * off_mm) if off_mm > 0.0 else ()


def _moves(frame: HeadFrame, offsets_mm: Sequence[float]) -> Iterator[tuple[float, str, FloatArray]]:
    for offset_mm in offsets_mm:
        for way, direction in zip(WAYS, (frame.front, -frame.front, frame.up, -frame.up), strict=True):
            yield offset_mm, way, direction


def poses_on(fitting: Fitting, poses: Poses, stated: HingeBrief, offset_mm: FloatArray) -> Poses:
    """Return the same poses with the hinge's axis moved by ``offset_mm`` ``(3,)``; each vertex keeps its share."""
    source = poses.source
    assert source.weights is not None
    hinge = placed_hinge(fitting.snapshot.landmarks, stated, offset_mm)
    return poses.on(hinged(fitting.base.vertices_mm, hinge, source.weights, source.sealed))


def bite_ahead_mm(fitting: Fitting, hinge: Hinge, t: float) -> float:
    """Return how far ahead the front of the lower jaw stands at ``t`` of where it is in the scan, mm."""
    frame = HeadFrame.from_landmarks(fitting.snapshot.landmarks)
    front_mm = lower_incisal_mm(fitting.snapshot, frame)
    motion: RigidMotion = hinge.motion_at(t)
    return float((motion.apply(front_mm) - front_mm) @ frame.front)
