"""Connected patches of a skin where some measured value is under a level."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import FloatArray, IntArray
from .areas import areas_mm2, clip_below
from .topology import grouped, label_facets


@dataclass(frozen=True)
class LevelPatch:
    """One connected patch under a level.

    Attributes
    ----------
    faces
        Indices of the skin's faces it lies on, ``(f,)``.
    area_mm2
        Its area.
    lowest
        Its smallest value.
    lowest_mm
        Where that is, ``(3,)``.
    """

    faces: IntArray
    area_mm2: float
    lowest: float
    lowest_mm: FloatArray


def patches_under(
    corners_mm: FloatArray, values: FloatArray, owner: IntArray, faces: IntArray, level: float
) -> list[LevelPatch]:
    """Return the connected patches where a value is under a level, lowest first.

    Parameters
    ----------
    corners_mm, values
        Facets ``(q, 3, 3)`` and the value at their corners ``(q, 3)``, linear between; nan is left out.
    owner
        ``(q,)`` the face each facet lies on.
    faces
        The skin's faces ``(m, 3)``; patches are connected over their shared edges.
    level
        Values below this belong to a patch.
    """
    cut = clip_below(values, level)
    if not len(cut.face):
        return []
    corners_mm, values, owner = cut.of(corners_mm), cut.of(values), owner[cut.face]
    areas = areas_mm2(corners_mm)
    patches = [_patch(own, corners_mm, values, owner, areas) for own in grouped(label_facets(owner, faces))]
    return sorted(patches, key=lambda patch: patch.lowest)


def _patch(own: IntArray, corners_mm: FloatArray, values: FloatArray, owner: IntArray, areas: FloatArray) -> LevelPatch:
    facet, corner = np.unravel_index(values[own].argmin(), (len(own), 3))
    return LevelPatch(
        faces=np.unique(owner[own]),
        area_mm2=float(areas[own].sum()),
        lowest=float(values[own[facet], corner]),
        lowest_mm=corners_mm[own[facet], corner],
    )
