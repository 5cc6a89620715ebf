"""Shorten a tooth or a piece of hardware that stands in the way, from its tip."""

import numpy as np

from ..geometry import distance_along
from ..model.arrays import FloatArray, IntArray
from ..model.finding import Finding
from ..performer.fitting import Fitting
from ..performer.head_frame import HeadFrame
from .mended import Mended, NothingToMend, mended

SPARE_MM = 0.1
"""Taken off beyond the computed amount, so that a fresh measurement finds it free."""
SPREAD = 3.0
"""The crown below the tip gives over this many times the amount, so that nothing folds."""
SHORTEST_MM, LONGEST_MM = 4.0, 20.0


def shorten(fitting: Fitting, finding: Finding) -> Mended:
    """Return the piece with the finding's vertices drawn back by the amount, the crown below following less and less.

    Parameters
    ----------
    fitting
        The design, as measured.
    finding
        A finding whose elements are the vertices of a tooth or of hardware that stand in the way, and whose
        ``remedy_mm`` says by how much.

    Raises
    ------
    KeyError
        When the finding's piece is not in the design.
    NothingToMend
        When the finding does not say by how much, or on what.
    """
    part = fitting.snapshot.part(finding.object)
    if not np.isfinite(finding.remedy_mm) or not len(finding.elements):
        raise NothingToMend(
            f"How much {part.name} would have to lose could not be worked out; move it or model it anew."
        )
    amount_mm = finding.remedy_mm + SPARE_MM
    over_mm = float(np.clip(SPREAD * amount_mm, SHORTEST_MM, LONGEST_MM))
    away_mm, _ = distance_along(part.vertices_mm, part.faces, finding.elements, over_mm)
    share = np.clip(1.0 - away_mm / over_mm, 0.0, 1.0)
    back = _toward_the_root(part.vertices_mm, away_mm, finding.elements, fitting)
    after_mm = part.vertices_mm + share[:, None] * amount_mm * back
    return mended(part.name, part.vertices_mm, after_mm, "Shortened")


def _toward_the_root(vertices_mm: FloatArray, away_mm: FloatArray, tip: IntArray, fitting: Fitting) -> FloatArray:
    """Return the unit vector ``(3,)`` up or down the face, from the tip to the rest of its crown."""
    up = HeadFrame.from_landmarks(fitting.snapshot.landmarks).up
    rest = np.isfinite(away_mm)
    rest[tip] = False
    crown = vertices_mm[rest] if rest.any() else vertices_mm
    return up if (crown.mean(axis=0) - vertices_mm[tip].mean(axis=0)) @ up > 0.0 else -up
