"""Where each eye looks from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..geometry import Surface
from ..model.arrays import FloatArray
from ..model.snapshot import Part, Role
from .fitting import Fitting
from .head_frame import HeadFrame

SIDES = ("left", "right")
ENTRANCE_MM = 3.0
"""Depth of the entrance pupil behind the front of the cornea: 3.05 mm in the usual schematic eye (from memory)."""
AHEAD_MM = 60.0
LENS_MM = 0.8
"""Hardware that lies wholly nearer to the eyeball than this is a contact lens."""


@dataclass(frozen=True)
class Eye:
    """One eye.

    Attributes
    ----------
    side
        ``left`` or ``right``, the performer's.
    apex_mm
        Front of the cornea, ``(3,)``.
    entrance_mm
        Middle of the entrance pupil, ``(3,)``.
    part
        The eyeball, or None.
    """

    side: str
    apex_mm: FloatArray
    entrance_mm: FloatArray
    part: Part | None


def find_eye(fitting: Fitting, side: str, frame: HeadFrame) -> Eye | None:
    """Return the eye of one side, or None where neither its landmark nor its eyeball is there.

    The front of the cornea is the eyeball's surface straight before or behind ``pupil_left`` or ``pupil_right``, else
    that landmark itself, else the eyeball's foremost vertex. Straight ahead is the head's front, whatever the
    eyeball's own gaze.
    """
    part = next(iter(fitting.snapshot.with_role(Role(f"eye_{side}"))), None)
    mark = fitting.snapshot.landmarks.get(f"pupil_{side}")
    if mark is None and part is None:
        return None
    apex = _foremost(part, frame) if mark is None and part is not None else np.asarray(mark)
    if mark is not None and part is not None:
        hit = fitting.surface(part).first_hit([mark + AHEAD_MM * frame.front], [-frame.front])
        if np.isfinite(hit.distance_mm[0]):
            apex = mark + (AHEAD_MM - hit.distance_mm[0]) * frame.front
    return Eye(side, apex, apex - ENTRANCE_MM * frame.front, part)


def _foremost(part: Part, frame: HeadFrame) -> FloatArray:
    used = part.vertices_mm[np.unique(part.faces)]
    return np.asarray(used[(used @ frame.front).argmax()])


def is_lens(part: Part, eye: Eye, fitting: Fitting) -> bool:
    """Tell whether a piece of hardware is a contact lens: all of it lies on the eyeball."""
    if part.role != Role.HARDWARE or eye.part is None:
        return False
    return fitting.kept.of(_lies_on, part, fitting.surface(eye.part))


def _lies_on(part: Part, eyeball: Surface) -> bool:
    used = part.vertices_mm[np.unique(part.faces)]
    return bool(eyeball.closest(used).distance_mm.max() <= LENS_MM)
