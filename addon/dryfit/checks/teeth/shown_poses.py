"""The poses at which teeth are looked at: at rest, with the jaw closed, and at the ends of every motion."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...geometry.rows import highs, lows, row_all
from ...model.arrays import FloatArray, IntArray
from ...model.snapshot import TISSUE, Part, Role, Snapshot
from ...performer.closing import ClosedMouth
from ...performer.fitting import Fitting
from ...performer.motion.base_motion import JAW
from ...performer.tooth_names import the

TEETH = (Role.UPPER_TEETH, Role.LOWER_TEETH)
AROUND_MM = 12.0
SHIFT_MM = 0.8
"""A motion that shifts no tooth, and no skin so near to the teeth, by more than this leaves the mouth as it was: rest
poses of one face repeat to 0.8 mm (Tanikawa & Takada 2018, Angle Orthod 88:319-328, MDC95)."""


@dataclass(frozen=True)
class ShownPose:
    """One pose in which teeth are looked at.

    Attributes
    ----------
    name, words
        For measures ("smile_end") and for sentences ("at the end of 'smile'").
    motion, t
        The pose; ``""`` is as scanned.
    """

    name: str
    words: str
    motion: str
    t: float

    def vertices_mm(self, fitting: Fitting, part: Part, ids: IntArray | None = None) -> FloatArray:
        """Return a part's vertices, or those asked for, ``(n, 3)``, mm, in this pose."""
        if not self.motion:
            return part.vertices_mm if ids is None else part.vertices_mm[ids]
        poses = fitting.poses(self.motion)
        return poses.vertices(part.name, self.t) if ids is None else poses.following(part.name, ids)(self.t)


CLOSED = ShownPose("closed", "with the jaw closed", JAW, 0.0)
REST = ShownPose("rest", "at rest", "", 0.0)
OPEN = ShownPose("jaw_open", "with the jaw wide open", JAW, 1.0)


def reached(closed: ClosedMouth) -> ShownPose:
    """Return the pose that a closing jaw gets to: closed, or where something stops it."""
    contact = closed.closing.contact
    if contact is None or not closed.blocked:
        return CLOSED
    open_yet = closed.still_open(contact.t, contact.at_mm)
    met = f"{the(contact.piece)} meets {the(contact.other_name)}"
    return ShownPose("stopped", f"with the jaw stopped {open_yet}, where {met}", JAW, contact.t)


def shown_poses(fitting: Fitting, judged: ShownPose | None) -> tuple[ShownPose, ...]:
    """Return the poses to look at, the one that is judged first.

    Poses in which the mouth stands as in one before them are left out; the jaw closed is not.

    Parameters
    ----------
    fitting
        The design.
    judged
        The pose that the closing jaw gets to; None without a jaw, which is judged as it was scanned.
    """
    kept: list[ShownPose] = []
    stances: list[list[FloatArray]] = []
    near = _near_teeth(fitting)
    for pose in (*([judged] if judged else []), *_all(fitting)):
        stance = [pose.vertices_mm(fitting, part, ids) for part, ids in near]
        if pose not in kept and (pose == CLOSED or not any(_same(stance, other) for other in stances)):
            kept.append(pose)
            stances.append(stance)
    return tuple(kept)


def _all(fitting: Fitting) -> tuple[ShownPose, ...]:
    jaw = JAW in fitting.motion_names
    return ((CLOSED, REST, OPEN) if jaw else (REST,)) + tuple(_others(fitting))


def _others(fitting: Fitting) -> Iterator[ShownPose]:
    for motion in fitting.motion_names:
        if motion != JAW:
            said = motion.replace("_", " ")
            yield ShownPose(f"{motion}_end", f"at the end of '{said}'", motion, 1.0)
            yield ShownPose(f"{motion}_start", f"at the start of '{said}'", motion, 0.0)


def _near_teeth(fitting: Fitting) -> list[tuple[Part, IntArray]]:
    """Return what poses are told apart by: every vertex of a tooth, and of the skin those near one."""
    rows = fitting.snapshot.with_role(*TEETH)
    places = np.concatenate([part.vertices_mm for part in rows])
    low, high = lows(places) - AROUND_MM, highs(places) + AROUND_MM
    return [
        (part, np.flatnonzero(row_all((part.vertices_mm > low) & (part.vertices_mm < high))))
        for part in moves_the_mouth(fitting.snapshot)
    ]


def moves_the_mouth(snapshot: Snapshot) -> tuple[Part, ...]:
    """Return the base, the appliances with keys of their own, and the teeth: all that tells one pose from another.

    An appliance without keys rides the base, so that it stands still where the base does.
    """
    keyed = {name for motion in snapshot.motions.values() for name in motion.frames_mm}
    skins = (part for part in snapshot.with_role(*TISSUE) if part.role == Role.BASE or part.name in keyed)
    return *skins, *snapshot.with_role(*TEETH)


def _same(first: list[FloatArray], second: list[FloatArray]) -> bool:
    return all(np.abs(one - two).max(initial=0.0) < SHIFT_MM for one, two in zip(first, second, strict=True))
