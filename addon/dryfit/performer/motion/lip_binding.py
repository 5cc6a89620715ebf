"""Bind a part to the base so that what lies on one lip does not ride the other."""

from collections.abc import Callable

from ...geometry.parted_binding import Cleft
from ..head_frame import HeadFrame
from ..mouth.line import MouthLine, missing_landmarks
from ..mouth.lip_skin import sides_of_line
from ..posable import PosableDesign
from .base_motion import JAW, NoMotion
from .poses import Poses


def mouth_cleft(design: PosableDesign, posed: Callable[[str], Poses]) -> Cleft | None:
    """Return the base's skin above and below the line between the lips; None where that is not known.

    The jaw's motion tells the lips apart, in the scan they may touch or be one skin; ``posed`` gives a motion by name.
    """
    if missing_landmarks(design):
        return None
    try:
        poses = posed(JAW)
    except NoMotion:
        return None
    line = MouthLine(design, poses, HeadFrame.from_landmarks(design.snapshot.landmarks))
    upper, lower = sides_of_line(poses, line, design.base)
    return Cleft.between(design.base_surface, upper, lower) if upper.any() and lower.any() else None
