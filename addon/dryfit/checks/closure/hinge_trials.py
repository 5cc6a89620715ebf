"""Does the answer hang on the hinge? The mouth is closed again with the axis moved, and with other slides."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from ...geometry.rigid import RigidMotion
from ...model.arrays import FloatArray
from ...model.brief import HingeBrief
from ...model.limits import Limits
from ...model.progress import Job, Progress
from ...performer.closing import ClosedMouth, allowed_mm, close_mouth, mouth_of
from ...performer.fitting import Fitting
from ...performer.head_frame import HeadFrame
from ...performer.motion.base_motion import hinged, lower_incisal_mm, placed_hinge, stated_hinge
from ...performer.motion.hinge import MOST_OPEN_DEG, Hinge
from ...performer.motion.poses import Poses
from .verdict import ClosingVerdict, closing_verdict

EXPECTED, WORST = 1.0, 2.0
"""The axis is moved by ``axis_sensitivity_mm``, and by twice that. One guessed from skin points lies within 5 mm of the
true one in 58 to 98 of 100 people, 2.8-9.3 mm off in one series (Simpson et al. 1984, J Prosthet Dent): 5 mm is to be
expected, 10 mm is the worst."""
WAYS = ("ahead", "back", "up", "down")
NO_SLIDE_MM = 0.5
"""A slide that could be off by less than this in all changes nothing."""


@dataclass(frozen=True)
class HingeChange:
    """Another hinge that this wearer might have.

    Attributes
    ----------
    words
        What is changed, for a sentence.
    offset_mm
        How far the axis is moved; 0 where another slide is tried.
    move_mm
        Where to, ``(3,)``.
    slides
        How many times as far the jaw slides.
    """

    words: str
    offset_mm: float
    move_mm: FloatArray
    slides: float = 1.0


@dataclass(frozen=True)
class HingeTrial:
    """One closing on another hinge.

    Attributes
    ----------
    change
        What was changed.
    gap_mm, way_mm
        Largest gap along the lips where the jaw stopped, and the longest way the lips then have.
    verdict
        What it comes to.
    behind_mm
        How far the lower lip's margin then stands behind the upper one's at the midline.
    bite_ahead_mm
        How far the lower jaw's front then stands ahead of where it stands on the hinge as found.
    """

    change: HingeChange
    gap_mm: float
    way_mm: float
    verdict: ClosingVerdict
    behind_mm: float
    bite_ahead_mm: float

    @property
    def of_axis(self) -> bool:
        """Whether the axis was moved, and not the slide changed."""
        return self.change.offset_mm > 0.0

    @property
    def judged(self) -> bool:
        """Whether anything can be said of this mouth on that hinge."""
        return self.verdict != ClosingVerdict.UNJUDGED


def hinge_trials(closed: ClosedMouth) -> Job[tuple[HingeTrial, ...]]:
    """Close the mouth with the axis moved each way, and with less and more slide; nothing where the jaw is keyed.

    Moves along the axis itself change nothing and are left out. Teeth that meet on a mouth found open are its bite.

    Yields
    ------
    Progress
        Hinges tried.
    """
    fitting, poses, limits = closed.fitting, closed.poses, closed.fitting.brief.limits
    stated = stated_hinge(fitting.snapshot, fitting.brief, poses.name)
    if poses.source.hinge is None or stated is None:
        return ()
    changes = [*_moved_axes(closed.mouth.lips.frame, limits), *_other_slides(poses, limits)]
    bite_mm = bite_ahead_mm(fitting, poses.source.hinge, closed.closing.stop.t)
    trials = []
    for number, change in enumerate(changes, start=1):
        yield Progress(number, len(changes), "trying other hinges")
        moved = poses_on(fitting, poses, _sliding(stated, change.slides), change.move_mm)
        if _shuts(moved):
            trials.append((yield from _trial(closed, moved, change, bite_mm)))
    return tuple(trials)


def _shuts(poses: Poses) -> bool:
    """Tell whether a hinge shuts an open scan at all; one that never brings the lips level is nobody's."""
    hinge = poses.source.hinge
    return hinge is None or hinge.rest_t * hinge.open_rad < np.radians(MOST_OPEN_DEG) - 1e-6


def _trial(closed: ClosedMouth, moved: Poses, change: HingeChange, bite_mm: float) -> Job[HingeTrial]:
    """Return the closing on another hinge; what the bare lips are apart closed is read on that hinge too."""
    fitting, bare, lips = closed.fitting, closed.bare, closed.mouth.lips
    open_scan = moved.source.rest_t > 0.0
    rest = (bare.on(moved) if open_scan else bare).profile(0.0)
    allowed = allowed_mm(rest, fitting.brief)
    mouth = yield from mouth_of(fitting, moved, lips.on(moved), allowed)
    closing = yield from close_mouth(mouth, with_profiles=False)
    assert moved.source.hinge is not None
    return HingeTrial(
        change,
        closing.stop.largest_mm,
        closing.stop.longest_mm,
        closing_verdict(closing, rest.longest_mm, open_scan, fitting.brief.limits),
        mouth.lower_lip_away_mm(closing.stop.t)[1],
        bite_ahead_mm(fitting, moved.source.hinge, closing.stop.t) - bite_mm,
    )


def _moved_axes(frame: HeadFrame, limits: Limits) -> Iterator[HingeChange]:
    """Yield the axes to try; none where the axis is stated to be known."""
    off_mm = limits.axis_sensitivity_mm
    for offset_mm in (EXPECTED * off_mm, WORST * off_mm) if off_mm > 0.0 else ():
        for way, direction in zip(WAYS, (frame.front, -frame.front, frame.up, -frame.up), strict=True):
            yield HingeChange(f"{offset_mm:g} mm further {way}", offset_mm, offset_mm * direction)


def _other_slides(poses: Poses, limits: Limits) -> Iterator[HingeChange]:
    """Yield the slides to try; none where the slide is stated to be known, or where there is none."""
    hinge, share = poses.source.hinge, limits.slide_sensitivity
    if hinge is None or share * float(np.linalg.norm(hinge.slide_mm)) < NO_SLIDE_MM:
        return
    less = max(1.0 - share, 0.0)
    yield HingeChange("with no slide" if less == 0.0 else f"with {less:g} times the slide", 0.0, np.zeros(3), less)
    yield HingeChange(f"with {1.0 + share:g} times the slide", 0.0, np.zeros(3), 1.0 + share)


def _sliding(stated: HingeBrief, times: float) -> HingeBrief:
    """Return the same hinge with a jaw that slides so many times as far on each degree."""
    return replace(stated, slide_deg_per_mm=stated.slide_deg_per_mm / times if times > 0.0 else float("inf"))


def poses_on(fitting: Fitting, poses: Poses, stated: HingeBrief, offset_mm: FloatArray) -> Poses:
    """Return the same poses on a hinge with its axis moved by ``offset_mm`` ``(3,)``; each vertex keeps its share."""
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
