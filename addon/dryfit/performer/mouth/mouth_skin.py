"""The skin round the closed mouth, cut by upright planes from front to back and seen from the front."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ...geometry import NoSurface, Surface
from ...geometry.cuts.flat_cuts import Chain, flat_cuts
from ...geometry.rows import row_any
from ...model.arrays import FloatArray, IntArray
from ...model.content import array_digest
from ...model.snapshot import Part
from ..motion.posed import Posed
from ..motion.poses import Poses
from .line import MouthLine
from .lip_skin import in_zone, marked, round_mouth, torn

AHEAD_MM = 1.0
"""Lines of sight start this far before the foremost skin."""


@dataclass(frozen=True)
class MouthSkin:
    """One part's skin round the mouth.

    Attributes
    ----------
    part
        The part's name.
    vertex_ids
        Its vertices that are used, ascending, ``(n,)``.
    faces
        Triangles over them, ``(m, 3)``.
    posed
        Where they are at any t, mm.
    closed_mm
        Where they are with the jaw closed, ``(n, 3)``, head coordinates (left, front, up).
    sunk_mm
        How far each sinks until the jaw is wide open, ``(n,)``.
    side
        For each triangle 1 where it is marked as upper lip, -1 where as lower lip, else 0, ``(m,)``.
    """

    part: str
    vertex_ids: IntArray
    faces: IntArray
    posed: Posed
    closed_mm: FloatArray
    sunk_mm: FloatArray
    side: IntArray

    @cached_property
    def content(self) -> bytes:
        """A digest of what the skin is with the jaw closed and as it opens, wherever it goes in between."""
        arrays = (self.vertex_ids, self.faces, self.closed_mm, self.sunk_mm, self.side)
        return b"".join([self.part.encode(), *map(array_digest, arrays)])

    @cached_property
    def surface(self) -> Surface | None:
        """The closed skin in head coordinates, indexed; None where it has no area."""
        try:
            return Surface(self.closed_mm, self.faces)
        except NoSurface:
            return None

    @cached_property
    def welded(self) -> IntArray:
        """The same triangles with vertices that go together all the way made one, ``(m, 3)``."""
        keys = np.column_stack([self.closed_mm, self.sunk_mm])
        order = np.lexsort(keys.T)
        new = np.concatenate([[True], row_any(np.diff(keys[order], axis=0) != 0.0)])
        one = np.zeros(len(keys), np.int64)
        one[order] = order[new][np.cumsum(new) - 1]
        return one[self.faces]

    def cut_at(self, places_mm: FloatArray) -> Cut:
        """Cut the closed skin at places across the mouth ``(s,)``, ascending, mm."""
        return Cut(flat_cuts(self.closed_mm, self.welded, places_mm), len(self.faces))


class Cut:
    """A skin's chains, and where on them a place in a triangle is.

    Parameters
    ----------
    chains
        The chains.
    face_count
        How many triangles the skin has.
    """

    def __init__(self, chains: list[Chain], face_count: int) -> None:
        self.chains = chains
        self._face_count = face_count
        pieces = [chain.place * face_count + chain.faces for chain in chains]
        keys = np.concatenate(pieces) if pieces else np.zeros(0, np.int64)
        self._order = np.argsort(keys, kind="stable")
        self._keys = keys[self._order]
        self._chain = np.repeat(np.arange(len(chains)), [len(chain.faces) for chain in chains])
        self._step = np.concatenate([np.arange(len(chain.faces)) for chain in chains] or [np.zeros(0, np.int64)])

    def find(self, place: int, face: IntArray) -> tuple[IntArray, IntArray]:
        """Return on which chain triangles ``(k,)`` are cut at a place, and at which of its pieces; -1 where not."""
        keys = place * self._face_count + np.asarray(face, dtype=np.int64)
        at = np.minimum(np.searchsorted(self._keys, keys), max(len(self._keys) - 1, 0))
        if not len(self._keys):
            return np.full(len(face), -1), np.full(len(face), -1)
        piece, cut = self._order[at], self._keys[at] == keys
        return np.where(cut, self._chain[piece], -1), np.where(cut, self._step[piece], -1)


def mouth_skin(poses: Poses, line: MouthLine, part: Part, sealed: bool) -> MouthSkin | None:
    """Return a part's skin round the mouth; None where it has none there.

    Parameters
    ----------
    poses, line
        The jaw's motion and the line between the lips.
    part
        The base, or tissue worn on it.
    sealed
        Whether triangles that are torn when the jaw opens are left out, unless they are marked: those of lips that
        are one skin in the scan, or of a piece that reaches across.
    """
    near = np.flatnonzero(round_mouth(line, part.vertices_mm[part.faces]))
    used, compact = np.unique(part.faces[near], return_inverse=True)
    posed, faces = poses.following(part.name, used), compact.reshape(-1, 3)
    closed, wide = posed(0.0), posed(1.0)
    kept, side = in_zone(line, closed[faces]), _side(part)[near]
    if sealed:
        kept &= (side != 0) | ~torn(closed, wide, faces)
    if not kept.any():
        return None
    up = line.frame.up
    closed_mm, sunk_mm = line.frame.coordinates(closed), (closed - wide) @ up
    return MouthSkin(part.name, used, faces[kept], posed, closed_mm, sunk_mm, side[kept])


def _side(part: Part) -> IntArray:
    upper, lower = (marked(part, f"dryfit_lip_{side}") for side in ("upper", "lower"))
    return np.where(upper, 1, np.where(lower, -1, 0))
