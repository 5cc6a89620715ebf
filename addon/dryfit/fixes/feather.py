"""Feather a rim: thin enough at the rim to disappear, and growing gently from there."""

import numpy as np

from ..geometry import distance_along
from ..model.arrays import FloatArray
from ..model.finding import Finding
from ..model.limits import Limits
from ..performer.fitting import Fitting
from .mended import Mended, mended

RIM_SHARE = 0.8
"""Share of the limit that the rim is left with, so that a fresh measurement stays under it."""
WIDTH_SHARE = 1.25
"""The blend is made this much wider than asked, for the same reason."""
STEEPEST = 0.6
"""Rise of the skin beyond the blend, mm a mm: back to the sculpt without a step (common practice, no source)."""
REACH_MM = 20.0


def feather(fitting: Fitting, finding: Finding) -> Mended:
    """Return the piece with the finding's span of rim thinned and its rise spread over the blend width.

    Every vertex near the span comes down toward the base along its closest line until it is no thicker than a
    profile over the distance from the rim: flat at first, then a straight rise to the blend thickness, then steeper.

    Parameters
    ----------
    fitting
        The design, as measured.
    finding
        A finding of the check ``edge``; its elements are rim vertices of the piece.

    Raises
    ------
    KeyError
        When the finding's piece is not in the design.
    NothingToMend
        When nothing is too thick.
    """
    part = fitting.snapshot.part(finding.object)
    skin = fitting.skin(part)
    limits = fitting.brief.limits
    away_mm, _ = distance_along(part.vertices_mm, skin.outer_faces, finding.elements, REACH_MM)
    ceiling_mm = profile_mm(away_mm, limits)
    wall = np.zeros(len(part.vertices_mm), dtype=bool)
    wall[skin.faces[skin.wall]] = True
    ceiling_mm[wall & np.isfinite(away_mm)] = profile_mm(np.zeros(1), limits)[0]
    tall = np.isfinite(away_mm) & (skin.clearance_mm > ceiling_mm)
    share = np.ones(len(part.vertices_mm))
    share[tall] = ceiling_mm[tall] / skin.clearance_mm[tall]
    down_mm = skin.foot_mm + (part.vertices_mm - skin.foot_mm) * share[:, None]
    after_mm = np.where(tall[:, None], down_mm, part.vertices_mm)
    return mended(part.name, part.vertices_mm, after_mm, "Thinned")


def profile_mm(away_mm: FloatArray, limits: Limits) -> FloatArray:
    """Return the greatest thickness allowed ``(n,)``, mm, at distances from the rim ``(n,)``, mm."""
    rim_mm = RIM_SHARE * min(limits.rim_thickness_review_mm, limits.rim_thickness_mm)
    width_mm = WIDTH_SHARE * limits.blend_width_mm
    flat_mm = min(2.0 * limits.rim_inset_mm, 0.5 * width_mm)
    rise = np.clip((away_mm - flat_mm) / (width_mm - flat_mm), 0.0, 1.0)
    beyond_mm = np.maximum(away_mm - width_mm, 0.0)
    ceiling: FloatArray = rim_mm + (limits.blend_thickness_mm - rim_mm) * rise + STEEPEST * beyond_mm
    return ceiling
