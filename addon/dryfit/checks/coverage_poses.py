"""The poses in which it matters what the lips cover."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..model.arrays import FloatArray
from ..model.snapshot import Part
from .base_motion import JAW
from .fitting import Fitting

NEAR_MM = 35.0
"""A motion matters to the teeth when it moves skin this near to the mouth."""
MOVES_MM = 0.5
"""Skin that moves less does not change what is seen."""


@dataclass(frozen=True)
class Pose:
    """One pose of one motion.

    Attributes
    ----------
    name
        For measures: ``closed``, ``rest``, ``jaw``, ``smile``.
    words
        For sentences: "at rest", "in smile".
    motion, t
        The pose; a motion ``""`` is the scan as it is.
    """

    name: str
    words: str
    motion: str
    t: float

    def vertices_mm(self, fitting: Fitting, part: Part) -> FloatArray:
        """Return where a part's vertices are, ``(n, 3)``, mm."""
        return fitting.poses(self.motion).vertices(part.name, self.t) if self.motion else part.vertices_mm


def closed_pose(fitting: Fitting) -> Pose:
    """Return the pose that is judged: the jaw closed, or the scan as it is where there is no jaw motion."""
    return Pose("closed", "at rest", JAW, 0.0) if JAW in fitting.motion_names else Pose("rest", "at rest", "", 0.0)


def further_poses(fitting: Fitting, mouth_mm: FloatArray) -> Iterator[Pose]:
    """Yield the other poses that matter: the scan as it is, where its jaw is not closed, and the end of each motion.

    Parameters
    ----------
    fitting
        The design.
    mouth_mm
        The middle of the mouth ``(3,)``; motions that stay away from it are left out.
    """
    rest_mm = fitting.base.vertices_mm
    near = np.linalg.norm(rest_mm - mouth_mm, axis=1) < NEAR_MM
    closed_mm = closed_pose(fitting).vertices_mm(fitting, fitting.base)
    if _moved(rest_mm, closed_mm, near):
        yield Pose("rest", "as the scan is", "", 0.0)
    for name in fitting.motion_names:
        pose = Pose(name, "with the jaw wide open" if name == JAW else f"in {name}", name, 1.0)
        if _moved(closed_mm, pose.vertices_mm(fitting, fitting.base), near):
            yield pose


def _moved(one_mm: FloatArray, two_mm: FloatArray, near: np.ndarray) -> bool:
    return bool((np.linalg.norm(one_mm[near] - two_mm[near], axis=1) > MOVES_MM).any())
