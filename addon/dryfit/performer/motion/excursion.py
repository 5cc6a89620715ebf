"""The jaw to one side, or forward, with the teeth just apart: motions beside opening that a worn piece must bear."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ...geometry.rigid import RigidMotion, turn_about
from ...geometry.shared_motion import shared_motion
from ...model.arrays import FloatArray, IntArray
from ...model.brief import ExcursionBrief, Way
from ..head_frame import HeadFrame, unit
from .hinge import Hinge
from .posed import Posed

AMOUNTS_MM: Mapping[Way, float] = {Way.AHEAD: 8.2, Way.LEFT: 10.6, Way.RIGHT: 10.2}
"""Mean full excursions at the incisors: Hirsch, John, Lautenschlaeger & List 2006, Eur J Oral Sci 114:465-470: 1,011
Germans of 10-17 years, so grown people may do more."""
CONDYLE_HALF_MM = 49.8
"""Half the distance between the condyles' middles, 99.6 mm: morphometric CBCT study, n = 120, PubMed 26734666. The
landmarks of the ears lie further out, on the skin."""
OVERJET_MM = 2.0
"""Way at the incisors over which the teeth part: upper incisors stand 1 to 3 mm ahead of the lower ones in 59.5 % of
people aged 18-50 (Marquette thesis 2013 on NHANES III)."""
MOST_RAD = 0.6


@dataclass(frozen=True)
class Excursion:
    """The mandible's path from closed to one side, or ahead.

    Attributes
    ----------
    hinge
        The jaw's axis, the direction of its slide, and where on its path the scan was taken.
    working_mm
        The point that stays in place on a way to the side, ``(3,)``: the condyle of that side.
    upright
        Axis of the way to the side, unit ``(3,)``: square to the hinge axis and to the slide, so that the other
        condyle goes down along its path as it goes ahead.
    side_rad, slide_mm
        The turn about ``upright`` and the slide ``(3,)`` at t = 1.
    part_rad
        The turn about the hinge that parts the teeth.
    part_t
        The t by which they are parted.
    """

    hinge: Hinge
    working_mm: FloatArray
    upright: FloatArray
    side_rad: float
    slide_mm: FloatArray
    part_rad: float
    part_t: float

    @classmethod
    def of(cls, hinge: Hinge, frame: HeadFrame, closed_mm: FloatArray, stated: ExcursionBrief) -> Excursion:
        """Find the turns that bring the incisal point as far as stated.

        Parameters
        ----------
        hinge, frame
            The jaw's hinge and the head's axes.
        closed_mm
            The lower incisal point with the jaw closed, ``(3,)``, mm.
        stated
            Which way, and how far.
        """
        way = stated.way
        amount_mm = AMOUNTS_MM[way] if stated.amount_mm is None else stated.amount_mm
        part_rad = _turn_reaching(hinge.point_mm, hinge.axis, closed_mm, -frame.up, stated.part_mm)
        parted_mm = turn_about(hinge.point_mm, hinge.axis, part_rad).apply(closed_mm)
        ahead = unit(hinge.slide_mm)
        side = {Way.LEFT: 1.0, Way.RIGHT: -1.0, Way.AHEAD: 0.0}[way]
        working_mm = hinge.point_mm + side * CONDYLE_HALF_MM * hinge.axis
        upright = side * unit(np.cross(ahead, hinge.axis))
        side_rad = _turn_reaching(working_mm, upright, parted_mm, side * frame.left, amount_mm) if side else 0.0
        back_mm = float((closed_mm - parted_mm) @ frame.front)
        slide_mm = np.zeros(3) if side else ahead * ((amount_mm + back_mm) / float(ahead @ frame.front))
        part_t = float(np.clip(OVERJET_MM / amount_mm, 1e-6, 1.0))
        return cls(hinge, working_mm, upright, side_rad, slide_mm, part_rad, part_t)

    def motion_at(self, t: float) -> RigidMotion:
        """Return the mandible's motion from rest at ``t``."""
        return self._from_closed(t).after(self.hinge.motion_at(0.0))

    def _from_closed(self, t: float) -> RigidMotion:
        parted = turn_about(self.hinge.point_mm, self.hinge.axis, self.part_rad * min(t / self.part_t, 1.0))
        aside = turn_about(self.working_mm, self.upright, self.side_rad * t)
        gone = aside.after(parted)
        return RigidMotion(gone.rotation, gone.shift_mm + t * self.slide_mm)

    def following(self, vertices_mm: FloatArray, weights: FloatArray, ids: IntArray) -> Posed:
        """Return where some vertices of a skin with jaw weights ``(n,)`` are at any t.

        The jaw is closed first where the scan has it open; then each takes its share of the motion.
        """
        shares = weights[ids]
        closed_mm = self.hinge.carried(vertices_mm[ids], shares, 0.0)
        return lambda t: shared_motion(self._from_closed(t), closed_mm, shares)


def _turn_reaching(
    point_mm: FloatArray, axis: FloatArray, mark_mm: FloatArray, toward: FloatArray, way_mm: float
) -> float:
    """Return the turn about an axis that brings a mark so far toward a direction, radians; by bisection."""
    low, high = 0.0, MOST_RAD
    while high - low > 1e-10:
        middle = 0.5 * (low + high)
        gone_mm = float((turn_about(point_mm, axis, middle).apply(mark_mm) - mark_mm) @ toward)
        low, high = (middle, high) if gone_mm < way_mm else (low, middle)
    return low
