"""The lower jaw of one head: a bone with one path, whatever the skin over it does."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from ...geometry.rigid import IDENTITY, RigidMotion, fit_rigid
from ...geometry.rows import row_norms
from ...model.arrays import FloatArray, IntArray

MOVED_MM = 0.3
"""Chin that goes no further than this tells nothing of the bone under it (scans repeat to 0.1-0.3 mm)."""
EXPLAINED_SHARE = 0.35
"""Chin whose movement a place on the path leaves unexplained by more than this share slides over a still bone; on a
real head an opening jaw leaves 0.08 of it, a smile 0.9 (measured, no published source)."""
SLID_SHARE = 0.15
SLID_DEG, SLID_MM = 10.0, 15.0
"""A jaw drawn to one side or forward slides as a whole: its skin then leaves less unexplained, 0.02 to 0.06 on a real
head, and goes no further than jaws go (10 mm to a side and 8 mm ahead on average: Hirsch et al. 2006, Eur J Oral Sci
114:465-470, 1,011 Germans of 10-17 years)."""
FURTHEST_T = 1.3
"""No motion opens the jaw further than this share of its own widest pose."""
STEPS, HALVINGS = 27, 24


class Evidence(StrEnum):
    """What a mandible's path was read from."""

    TEETH = "the lower teeth's own keys"
    SKIN = "the skin of the chin"
    HINGE = "a hinge from landmarks"


@dataclass(frozen=True)
class Mandible:
    """The path of a lower jaw.

    Attributes
    ----------
    path
        Its motion from rest at any t of the motion that opens the mouth.
    evidence
        What that was read from.
    misfit_mm
        What the evidence leaves unexplained wide open, mm: root mean square over the teeth, or over the skin.
    skin
        Vertices of the base that go with the bone, ``(k,)``; none where the path is not read from a keyed skin.
    skin_turn_deg
        How far that skin turns wide open, degrees; nan where it was not read.
    """

    path: Callable[[float], RigidMotion]
    evidence: Evidence
    misfit_mm: float
    skin: IntArray
    skin_turn_deg: float = float("nan")

    @property
    def turn_deg(self) -> float:
        """How far it turns from closed to wide open, degrees."""
        return self.path(1.0).after(self.path(0.0).inverse).angle_deg

    def nearest(self, rest_mm: FloatArray, posed_mm: FloatArray) -> RigidMotion:
        """Return how the jaw has moved when its skin ``(k, 3)`` went from rest to a pose, mm.

        A bone moves on its path, slides as a whole, or does not move at all: where neither explains the skin's
        movement, muscles drew the skin over a jaw that is still.
        """
        moved_mm = float(np.median(row_norms(posed_mm - rest_mm))) if len(rest_mm) else 0.0
        if moved_mm < MOVED_MM:
            return IDENTITY
        t = self._nearest_t(rest_mm, posed_mm)
        if _left_mm(self.path(t), rest_mm, posed_mm) <= EXPLAINED_SHARE * moved_mm:
            return self.path(t)
        slid = fit_rigid(rest_mm, posed_mm)
        within = slid.angle_deg <= SLID_DEG and moved_mm <= SLID_MM
        return slid if within and _left_mm(slid, rest_mm, posed_mm) <= SLID_SHARE * moved_mm else IDENTITY

    def _nearest_t(self, rest_mm: FloatArray, posed_mm: FloatArray) -> float:
        """Return the t in 0 to ``FURTHEST_T`` at which the path comes nearest, in the mean of squares."""

        def left(t: float) -> float:
            return float(((self.path(t).apply(rest_mm) - posed_mm) ** 2).sum())

        grid = np.linspace(0.0, FURTHEST_T, STEPS)
        best = int(np.argmin([left(t) for t in grid.tolist()]))
        low, high = float(grid[max(best - 1, 0)]), float(grid[min(best + 1, STEPS - 1)])
        for _ in range(HALVINGS):
            first, second = low + (high - low) / 3.0, high - (high - low) / 3.0
            low, high = (low, second) if left(first) <= left(second) else (first, high)
        return 0.5 * (low + high)


def _left_mm(motion: RigidMotion, rest_mm: FloatArray, posed_mm: FloatArray) -> float:
    return float(np.median(row_norms(motion.apply(rest_mm) - posed_mm)))
