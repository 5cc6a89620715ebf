"""Extend a sculpted lip until it covers, its margin most and the skin behind it less and less."""

import numpy as np

from ..geometry import distance_along
from ..model.arrays import BoolArray, FloatArray, IntArray
from ..model.finding import Finding
from ..model.snapshot import Part, Role
from ..performer.fitting import Fitting
from ..performer.head_frame import HeadFrame
from .mended import Mended, NothingToMend, mended

SPARE_MM = 0.1
"""Added to the computed amount, so that a fresh measurement finds it covered."""
SPREAD = 3.0
SHORTEST_MM, LONGEST_MM = 8.0, 25.0
"""The lip behind the margin stretches over this many times the amount, within these bounds."""
COLUMN_MM = 2.0
MARGIN_MM = 1.0
"""In each column of this width, skin this near to the lip's furthest reach is its margin."""
UPPER, LOWER = "dryfit_lip_upper", "dryfit_lip_lower"


def extend(fitting: Fitting, finding: Finding) -> Mended:
    """Return the lip piece with its margin moved toward the other lip.

    The lip is the appliance with the vertex group ``dryfit_lip_upper`` or ``dryfit_lip_lower``: the upper one for
    upper teeth, the lower one for lower teeth; for lips that do not meet, the lip of the finding's own piece.

    Parameters
    ----------
    fitting
        The design, as measured.
    finding
        A finding of ``coverage`` or ``closure`` whose ``remedy_mm`` says by how much.

    Raises
    ------
    KeyError
        When the finding's piece is not in the design.
    NothingToMend
        When no appliance is marked as the lip, or the finding does not say by how much.
    """
    if not np.isfinite(finding.remedy_mm):
        raise NothingToMend("How much the lip would have to grow could not be worked out.")
    part, area = _lip(fitting, fitting.snapshot.part(finding.object))
    up = HeadFrame.from_landmarks(fitting.snapshot.landmarks).up
    toward = -up if area == UPPER else up
    inside = part.areas[area] > 0.5
    margin = _margin(part.vertices_mm, inside, toward, fitting)
    amount_mm = finding.remedy_mm + SPARE_MM
    over_mm = float(np.clip(SPREAD * amount_mm, SHORTEST_MM, LONGEST_MM))
    away_mm, _ = distance_along(part.vertices_mm, part.faces, margin, over_mm)
    share = np.clip(1.0 - away_mm / over_mm, 0.0, 1.0) ** 2
    after_mm = part.vertices_mm + share[:, None] * amount_mm * toward
    return mended(part.name, part.vertices_mm, after_mm, "Extended")


def _lip(fitting: Fitting, found_on: Part) -> tuple[Part, str]:
    """Return the appliance that is the lip, and the name of its marked area."""
    wanted = {Role.UPPER_TEETH: (UPPER,), Role.LOWER_TEETH: (LOWER,)}.get(found_on.role, (LOWER, UPPER))
    pieces = [found_on] if found_on.role == Role.APPLIANCE else fitting.snapshot.with_role(Role.APPLIANCE)
    for piece in pieces:
        for area in wanted:
            if area in piece.areas and (piece.areas[area] > 0.5).any():
                return piece, area
    names = " or ".join(wanted)
    raise NothingToMend(
        f"No appliance is marked as the lip (vertex group {names}): the performer's own lip cannot be extended. "
        "Shorten the teeth instead, or sculpt a lip and mark it."
    )


def _margin(vertices_mm: FloatArray, inside: BoolArray, toward: FloatArray, fitting: Fitting) -> IntArray:
    """Return the area's vertices ``(k,)`` that reach furthest toward the other lip, column by column."""
    left = HeadFrame.from_landmarks(fitting.snapshot.landmarks).left
    members = np.flatnonzero(inside)
    reach_mm = vertices_mm[members] @ toward
    column = np.floor(vertices_mm[members] @ left / COLUMN_MM).astype(np.int64)
    column -= column.min()
    furthest = np.full(column.max() + 1, -np.inf)
    np.maximum.at(furthest, column, reach_mm)
    return members[reach_mm > furthest[column] - MARGIN_MM]
