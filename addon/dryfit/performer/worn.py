"""What of a part is really worn: a sculpt that flows into the base is the base wherever it lies on it."""

from __future__ import annotations

import numpy as np

from ..geometry import Surface
from ..model.arrays import IntArray
from ..model.snapshot import Part, Role
from .fitting import Fitting


def worn_face_ids(part: Part, fitting: Fitting) -> IntArray:
    """Return which faces of a part are worn, ascending; of a sculpt that flows into the base, those off it."""
    if part.role != Role.APPLIANCE or not fitting.skin(part).flows:
        return np.arange(len(part.faces))
    return np.flatnonzero(fitting.skin(part).outer)


def worn_surface(part: Part, fitting: Fitting) -> Surface:
    """Return the worn faces of a part at rest, indexed.

    Raises
    ------
    NoSurface
        When none of it is worn.
    """
    ids = worn_face_ids(part, fitting)
    if len(ids) == len(part.faces):
        return fitting.surface(part)
    return fitting.found((worn_surface, part.name), lambda: Surface(part.vertices_mm, part.faces[ids]))


def worn_parts(fitting: Fitting, *roles: Role) -> list[Part]:
    """Return the parts with one of the roles of which something is worn."""
    return [part for part in fitting.snapshot.with_role(*roles) if len(worn_face_ids(part, fitting))]
