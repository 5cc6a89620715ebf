"""What a snapshot must be before anything is measured on it. Checked once, at the border."""

import numpy as np

from .errors import (
    BadFaceIndex,
    ImplausibleSize,
    MissingRole,
    NoFaces,
    NotFiniteCoordinates,
    TooManyBases,
    ZeroArea,
)
from .snapshot import Part, Role, Snapshot

PLAUSIBLE_BASE_MM = (80.0, 700.0)
"""Largest extent of a head or face scan, from a child's face to a head with neck and shoulders."""
GUESSES = (
    (1000.0, "metres read as millimetres"),
    (10.0, "centimetres read as millimetres"),
    (25.4, "inches read as millimetres"),
)


def admit(snapshot: Snapshot) -> Snapshot:
    """Return the snapshot itself when it can be measured.

    Raises
    ------
    MissingRole, TooManyBases
        When there is no base or more than one, or nothing worn on it.
    NoFaces, NotFiniteCoordinates, BadFaceIndex, ZeroArea
        When a part is no surface.
    ImplausibleSize
        When the base cannot be a head in millimetres.
    """
    bases = [part.name for part in snapshot.with_role(Role.BASE)]
    if not bases:
        raise MissingRole("base", snapshot.source or snapshot.name)
    if len(bases) > 1:
        raise TooManyBases(bases, snapshot.source or snapshot.name)
    worn = (Role.APPLIANCE, Role.UPPER_TEETH, Role.LOWER_TEETH, Role.HARDWARE)
    if not snapshot.with_role(*worn):
        raise MissingRole("appliance", snapshot.source or snapshot.name)
    for part in snapshot.parts:
        admit_part(part)
    admit_size(snapshot.base)
    return snapshot


def admit_part(part: Part) -> None:
    """Raise when a part is no finite, indexed surface with area.

    Raises
    ------
    NoFaces, NotFiniteCoordinates, BadFaceIndex, ZeroArea
    """
    count = len(part.vertices_mm)
    if not len(part.faces) or not count:
        raise NoFaces(part.name, count)
    bad = int((~np.isfinite(part.vertices_mm).all(axis=1)).sum())
    if bad:
        raise NotFiniteCoordinates(part.name, bad, count)
    outside = int(((part.faces < 0) | (part.faces >= count)).any(axis=1).sum())
    if outside:
        raise BadFaceIndex(part.name, outside, count)
    a, b, c = part.vertices_mm[part.faces].transpose(1, 0, 2)
    if not np.linalg.norm(np.cross(b - a, c - a), axis=1).any():
        raise ZeroArea(part.name, len(part.faces))


def admit_size(base: Part) -> None:
    """Raise when the base cannot be a head in millimetres.

    Raises
    ------
    ImplausibleSize
        Naming the unit it looks like; nothing is rescaled.
    """
    size_mm = float(np.ptp(base.vertices_mm[np.unique(base.faces)], axis=0).max())
    low, high = PLAUSIBLE_BASE_MM
    if low <= size_mm <= high:
        return
    for factor, words in GUESSES:
        if low <= size_mm * factor <= high:
            raise ImplausibleSize(base.name, size_mm, f"It looks like {words}.")
        if low <= size_mm / factor <= high:
            wrong = " read as ".join(reversed(words.split(" read as ")))
            raise ImplausibleSize(base.name, size_mm, f"It looks like {wrong}.")
    raise ImplausibleSize(base.name, size_mm, "No usual unit explains it.")
