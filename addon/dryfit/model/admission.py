"""What a snapshot must be before anything is measured on it. Checked once, at the border."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType

import numpy as np

from .arrays import FloatArray
from .errors import (
    BadFaceIndex,
    ImplausibleSize,
    LandmarkNowhere,
    MisfitFrames,
    MissingRole,
    NoFaces,
    NotFiniteCoordinates,
    PieceInAnotherUnit,
    SameName,
    TooManyBases,
    ZeroArea,
)
from .kept_answers import KeptAnswers, answered
from .snapshot import FARTHEST_MM, Motion, Part, Role, Snapshot

PLAUSIBLE_BASE_MM = (80.0, 700.0)
"""Largest extent of a head or face scan, from a child's face to a head with neck and shoulders."""
OTHER_UNITS_MM: Mapping[str, float] = MappingProxyType({"metres": 1000.0, "centimetres": 10.0, "inches": 25.4})
"""Units that are taken for millimetres, or millimetres for them."""
DOUBTED_SIZE = (0.1, 1.5)
"""Largest extent of a piece over the base's, outside which its unit is doubted (common practice, no source)."""
DOUBTED_GAP = 1.5
"""Distance of a piece's box from the base's box, over the base's extent, beyond which its unit is doubted."""
WORN_GAP = 0.05
"""The same distance within which a piece in its right unit lies."""


def admit(snapshot: Snapshot, *, bare: bool = False, kept: KeptAnswers | None = None) -> Snapshot:
    """Return the snapshot itself when it can be measured.

    Parameters
    ----------
    snapshot
        As it was read.
    bare
        Whether the head itself is asked about, so that nothing has to be worn on it.
    kept
        What was answered before: a part that was admitted once is not gone through again.

    Raises
    ------
    MissingRole, TooManyBases
        When there is no base or more than one, or nothing worn on it.
    NoFaces, NotFiniteCoordinates, BadFaceIndex, ZeroArea
        When a part is no surface.
    SameName, MisfitFrames, LandmarkNowhere
        When names, key frames, areas or landmarks do not belong to the parts.
    ImplausibleSize
        When the base cannot be a head in millimetres.
    PieceInAnotherUnit
        When a piece does not sit on the base, and would in another unit.
    """
    bases = [part.name for part in snapshot.with_role(Role.BASE)]
    if not bases:
        raise MissingRole("base", snapshot.source or snapshot.name)
    if len(bases) > 1:
        raise TooManyBases(bases, snapshot.source or snapshot.name)
    worn = (Role.APPLIANCE, Role.UPPER_TEETH, Role.LOWER_TEETH, Role.HARDWARE)
    if not bare and not snapshot.with_role(*worn):
        raise MissingRole("appliance", snapshot.source or snapshot.name)
    for part in snapshot.parts:
        answered(kept, admit_part, part)
    _admit_belonging(snapshot, kept)
    admit_size(snapshot.base)
    around_base = _box(snapshot.base)
    for part in snapshot.with_role(*worn):
        admit_unit(part, around_base)
    return snapshot


def _admit_belonging(snapshot: Snapshot, kept: KeptAnswers | None) -> None:
    """Raise when names, landmarks, key frames or areas cannot belong to the parts."""
    source = snapshot.source or snapshot.name
    names = [part.name for part in snapshot.parts]
    if twice := sorted({name for name in names if names.count(name) > 1}):
        raise SameName(twice, source)
    if lost := sorted(name for name, point in snapshot.landmarks.items() if not _is_somewhere(point)):
        raise LandmarkNowhere(lost, source)
    for part in snapshot.parts:
        for area, weights in part.areas.items():
            if weights.shape != (len(part.vertices_mm),):
                raise MisfitFrames(part.name, f"the area '{area}'", weights.size, len(part.vertices_mm))
        for motion in snapshot.motions.values():
            if motion.moves(part.name):
                answered(kept, _admit_frames, part, motion.of_parts([part.name]))


def _is_somewhere(point_mm: FloatArray) -> bool:
    """Tell whether a point is where a design can be."""
    return bool((np.abs(point_mm) <= FARTHEST_MM).all())


def _admit_frames(part: Part, motion: Motion) -> None:
    """Raise when key frames do not fit the part in number, shape or time."""
    frames, count = motion.frames_mm[part.name], len(part.vertices_mm)
    what = f"the motion '{motion.name}'"
    if frames.ndim != 3 or frames.shape[1:] != (count, 3):
        raise MisfitFrames(part.name, what, frames.shape[1] if frames.ndim > 1 else 0, count)
    times = motion.frames_t
    if times.ndim != 1 or len(times) < 2 or len(times) != len(frames) or not (np.diff(times) > 0).all():
        raise MisfitFrames(part.name, f"{what} with {times.size} times for {len(frames)} key frames", count, count)
    bad = int((~np.isfinite(frames).all(axis=(0, 2))).sum())
    if bad:
        raise NotFiniteCoordinates(part.name, bad, count)


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
    for scale, words in _mistakes():
        if low <= size_mm * scale <= high:
            raise ImplausibleSize(base.name, size_mm, words)
    raise ImplausibleSize(base.name, size_mm, "No usual unit explains it.")


def admit_unit(part: Part, around_base: FloatArray) -> None:
    """Raise when a piece does not sit on the base as it is, but would in another usual unit.

    Small, large or far pieces that no unit explains are left to the checks.

    Parameters
    ----------
    part
        The piece.
    around_base
        The lowest and highest corner of the base, ``(2, 3)``, mm.

    Raises
    ------
    PieceInAnotherUnit
        Naming the unit it looks like; nothing is rescaled.
    """
    low_mm, high_mm = around_base
    corners = _box(part)
    base_mm = float((high_mm - low_mm).max())
    if _lies(corners, low_mm, high_mm, DOUBTED_GAP):
        return
    for scale, words in _mistakes():
        if _lies(corners * scale, low_mm, high_mm, WORN_GAP):
            raise PieceInAnotherUnit(part.name, float(np.ptp(corners, axis=0).max()), base_mm, words)


def _mistakes() -> Iterator[tuple[float, str]]:
    """Yield what a size would have to be multiplied by, and the mistake that would explain it."""
    for unit, factor in OTHER_UNITS_MM.items():
        yield factor, f"It looks like {unit} read as millimetres."
        yield 1.0 / factor, f"It looks like millimetres read as {unit}."


def _box(part: Part) -> FloatArray:
    """Return the lowest and highest corner of the part's faces, ``(2, 3)``, mm."""
    on_faces = np.zeros(len(part.vertices_mm), bool)
    on_faces[part.faces] = True
    used = part.vertices_mm[on_faces]
    return np.stack([used.min(axis=0), used.max(axis=0)])


def _lies(corners_mm: FloatArray, low_mm: FloatArray, high_mm: FloatArray, gap_share: float) -> bool:
    """Tell whether a box is of a size that is worn on the base's box, and no further from it than a share of it."""
    base_mm = float((high_mm - low_mm).max())
    low, high = DOUBTED_SIZE
    size_mm = float(np.ptp(corners_mm, axis=0).max())
    gap_mm = float(np.maximum(low_mm - corners_mm[1], corners_mm[0] - high_mm).max())
    return low * base_mm <= size_mm <= high * base_mm and gap_mm <= gap_share * base_mm
