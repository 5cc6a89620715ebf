"""What one eye can see, bare and worn: rays from its entrance pupil."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...geometry import Surface
from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.kept_answers import KeptAnswers
from ...model.snapshot import Part

LID_REACH_MM = 12.0
"""Skin nearer to the entrance pupil than this is lid: half the width of an eye, taken to all sides.

The width is the horizontal fissure, 24.23 mm on average (DeAngelis et al., Ophthalmic Plast Reconstr Surg, year not
seen; 122 people of 22-90 years, from images). It says nothing of how high a lid reaches: the choice is the project's
own. Lids lift and follow the gaze, and scans are often taken with eyes half closed, so bare lids do not count."""
CORNEA_MM = 3.5
"""Rays are followed from here on: nearer is the cornea, or a lens on it."""


@dataclass(frozen=True)
class Sight:
    """What a bundle of rays meets.

    Attributes
    ----------
    bare
        ``(k,)``, nothing of the bare head in the way.
    worn
        ``(k,)``, nothing of the head or of what is worn in the way.
    blocker
        ``(k,)`` number of the worn part that blocks a ray of the bare field, -1 for none.
    at_mm, face
        Where it blocks ``(k, 3)`` and on which of its triangles ``(k,)``; nan and -1 for none.
    """

    bare: BoolArray
    worn: BoolArray
    blocker: IntArray
    at_mm: FloatArray
    face: IntArray


@dataclass(frozen=True)
class Obstacle:
    """A worn part that can be in the way.

    Attributes
    ----------
    surface
        What of it is worn.
    face_ids
        Which of the part's triangles those are, ``(f,)``.
    """

    part: Part
    surface: Surface
    face_ids: IntArray


class Outlook:
    """The head and what is worn on it, as seen from one place.

    Parameters
    ----------
    base
        The bare head.
    worn
        What can be in the way.
    kept
        Answers kept from other designs.
    """

    def __init__(self, base: Surface, worn: list[Obstacle], kept: KeptAnswers) -> None:
        self.base = base
        self.worn = worn
        self.kept = kept

    def look(self, from_mm: FloatArray, directions: FloatArray) -> Sight:
        """Follow rays from one place ``(3,)``, mm, along unit directions ``(k, 3)``."""
        bare, lid = self.kept.of(_of_head, self.base, from_mm, directions)
        distance = np.full(len(directions), np.inf)
        blocker, face = np.full(len(directions), -1), np.full(len(directions), -1)
        for number, obstacle in enumerate(self.worn):
            # where the bare lid is in the way, what rides on the lid takes nothing further
            hit, beyond = self.kept.of(_of_worn, obstacle.surface, from_mm, directions)
            reach = np.where(lid, LID_REACH_MM + beyond[0], CORNEA_MM + hit[0])
            nearer = bare & (reach < distance)
            distance[nearer], blocker[nearer] = reach[nearer], number
            face[nearer] = np.where(lid, beyond[1], hit[1])[nearer]
        at_mm = np.where(
            (blocker >= 0)[:, None], from_mm + np.where(blocker >= 0, distance, 0.0)[:, None] * directions, np.nan
        )
        return Sight(bare, bare & (blocker < 0), blocker, at_mm, face)


def _of_head(base: Surface, from_mm: FloatArray, directions: FloatArray) -> tuple[BoolArray, BoolArray]:
    """Return along which rays nothing of the bare head is in the way past the lids, and along which a lid is."""
    far, near = from_mm + LID_REACH_MM * directions, from_mm + CORNEA_MM * directions
    return ~base.blocked(far, directions), base.blocked(near, directions, LID_REACH_MM - CORNEA_MM)


Reached = tuple[FloatArray, IntArray]
"""How far rays go until they hit something, ``(k,)``, mm, and on which triangle, ``(k,)``."""


def _of_worn(surface: Surface, from_mm: FloatArray, directions: FloatArray) -> tuple[Reached, Reached]:
    """Return what rays hit of a worn part, from before the cornea and from past the lids."""
    starts = (from_mm + CORNEA_MM * directions, from_mm + LID_REACH_MM * directions)
    hit, beyond = (surface.first_hit(start, directions) for start in starts)
    return (hit.distance_mm, hit.face), (beyond.distance_mm, beyond.face)
