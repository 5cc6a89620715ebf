"""Bind a part to the base so that what lies on one lip does not ride the other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...geometry.parted_binding import Cleft
from ..head_frame import HeadFrame
from ..mouth.line import MouthLine, missing_landmarks
from ..mouth.lip_skin import sides_of_line
from .base_motion import JAW, NoMotion

if TYPE_CHECKING:
    from ..fitting import Fitting


def mouth_cleft(fitting: Fitting) -> Cleft | None:
    """Return the base's skin above and below the line between the lips; None where that is not known.

    The jaw's motion tells the lips apart, in the scan they may touch or be one skin.
    """
    if missing_landmarks(fitting):
        return None
    try:
        poses = fitting.poses(JAW)
    except NoMotion:
        return None
    line = MouthLine(fitting, poses, HeadFrame.from_landmarks(fitting.snapshot.landmarks))
    upper, lower = sides_of_line(poses, line, fitting.base)
    return Cleft.between(fitting.base_surface, upper, lower) if upper.any() and lower.any() else None
