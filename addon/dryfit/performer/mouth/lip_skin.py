"""Which skin is upper lip and which is lower, whatever it is modelled on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from ...geometry.rows import row_all, row_any, row_means, row_norms
from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.snapshot import Part
from ..motion.posed import Posed, remembering
from ..motion.poses import Poses
from ..posable import PosableDesign
from .line import MouthLine

DEPTH_BEHIND_MM = 14.0
DEPTH_BEFORE_MM = 60.0
ZONE_HEIGHT_MM = 40.0
ZONE_SIDE_MM = 12.0
"""Skin counts as lip this far behind, before, above or below, and beside the mouth line."""
STILL_MM = 1.0
ROUGH_MM, ROUGH_STILL_MM = 30.0, 5.0
"""Skin is looked at more closely when at rest it lies in that zone widened by so much: by the second where closing the
jaw leaves the mouth in its place, to ``STILL_MM``."""
TORN_STRETCH = 3.0
TORN_MM = 3.0
"""An edge that grows to more than this many times its length, and by this much more, is torn, not stretched."""


Sides = tuple[BoolArray, BoolArray]
"""Which triangles of a part are upper lip and which lower, ``(m,)`` each."""


@dataclass(frozen=True)
class LipSkin:
    """The triangles of one lip, gathered from every tissue part.

    Attributes
    ----------
    parts
        Names of the parts.
    vertex_ids, face_ids
        For each part, its vertices and triangles that are used, ascending.
    faces
        Triangles over the gathered vertices, turned so that normals point out of the tissue.
    posed
        For each part, where its used vertices are at any t.
    """

    parts: tuple[str, ...]
    vertex_ids: tuple[IntArray, ...]
    face_ids: tuple[IntArray, ...]
    faces: IntArray
    posed: tuple[Posed, ...]

    def vertices(self, t: float) -> FloatArray:
        """Return the gathered vertices ``(n, 3)``, mm, at ``t``."""
        return np.concatenate([posed(t) for posed in self.posed])

    def on(self, poses: Poses) -> LipSkin:
        """Return the same skin in another motion."""
        ids = zip(self.parts, self.vertex_ids, strict=True)
        return replace(self, posed=tuple(remembering(poses.following(name, used)) for name, used in ids))

    def owner(self, face: int) -> str:
        """Return the name of the part a gathered triangle belongs to."""
        ends = np.cumsum([len(ids) for ids in self.face_ids])
        return self.parts[int(np.searchsorted(ends, face, side="right"))]

    @property
    def pieces(self) -> tuple[LipSkin, ...]:
        """The same lip, one part at a time."""
        vertex_ends = np.cumsum([0, *(len(ids) for ids in self.vertex_ids)])
        face_ends = np.cumsum([0, *(len(ids) for ids in self.face_ids)])
        return tuple(
            LipSkin(
                (name,),
                (self.vertex_ids[place],),
                (self.face_ids[place],),
                self.faces[face_ends[place] : face_ends[place + 1]] - vertex_ends[place],
                (self.posed[place],),
            )
            for place, name in enumerate(self.parts)
        )


def split_lips(
    fitting: PosableDesign,
    poses: Poses,
    line: MouthLine,
    tissue: tuple[Part, ...],
    known_sides: Callable[[Part], Sides] | None = None,
) -> tuple[LipSkin, LipSkin]:
    """Return the upper and the lower lip of some tissue.

    Where a part has vertex groups ``dryfit_lip_upper`` and ``dryfit_lip_lower`` they decide; elsewhere triangles
    round the mouth belong to the side of the mouth line on which they lie when the jaw is wide open. ``known_sides``
    gives what ``sides`` finds, where somebody keeps it.
    """
    chosen = [known_sides(part) if known_sides else sides(poses, line, part) for part in tissue]
    upper, lower = (
        _gathered(fitting, poses, [(part, both[which]) for part, both in zip(tissue, chosen, strict=True)])
        for which in (0, 1)
    )
    return upper, lower


def sides(poses: Poses, line: MouthLine, part: Part) -> Sides:
    """Return which triangles of a part are upper lip and which lower."""
    groups = [f"dryfit_lip_{side}" for side in ("upper", "lower")]
    if all(group in part.areas for group in groups):
        return marked(part, groups[0]), marked(part, groups[1])
    return sides_of_line(poses, line, part)


def sides_of_line(poses: Poses, line: MouthLine, part: Part) -> Sides:
    """Return which triangles round the mouth are above and which below its line when the jaw is wide open, ``(m,)``."""
    near = np.flatnonzero(round_mouth(line, part.vertices_mm[part.faces]))
    used, compact = np.unique(part.faces[near], return_inverse=True)
    posed, faces = poses.following(part.name, used), compact.reshape(-1, 3)
    closed_mm, wide_mm = posed(0.0), posed(1.0)
    kept = in_zone(line, closed_mm[faces]) & ~torn(closed_mm, wide_mm, faces)
    above = line.beyond(line.frame.coordinates(row_means(wide_mm[faces])), 1.0)[:, 2] >= 0.0
    upper, lower = np.zeros(len(part.faces), bool), np.zeros(len(part.faces), bool)
    upper[near], lower[near] = kept & above, kept & ~above
    return upper, lower


def round_mouth(line: MouthLine, triangles_mm: FloatArray) -> BoolArray:
    """Return which triangles ``(m, 3, 3)``, mm, at rest may lie round the mouth once it is closed, ``(m,)``."""
    return in_zone(line, triangles_mm, ROUGH_MM if line.closing_moves_mm > STILL_MM else ROUGH_STILL_MM)


def in_zone(line: MouthLine, triangles_mm: FloatArray, margin_mm: float = 0.0) -> BoolArray:
    """Return which triangles ``(m, 3, 3)``, mm, lie round the closed mouth, ``(m,)``."""
    near = line.beyond(line.frame.coordinates(row_means(triangles_mm)), 0.0)
    inside = (near[:, 0] <= ZONE_SIDE_MM + margin_mm) & (np.abs(near[:, 2]) <= ZONE_HEIGHT_MM + margin_mm)
    inside &= (near[:, 1] >= -DEPTH_BEHIND_MM - margin_mm) & (near[:, 1] <= DEPTH_BEFORE_MM + margin_mm)
    return np.asarray(inside)


def torn(closed_mm: FloatArray, wide_mm: FloatArray, faces: IntArray) -> BoolArray:
    """Return which triangles are torn open with the mouth, ``(m,)``: skin across lips that are sealed in the scan."""
    lengths = [row_norms(posed[faces] - np.roll(posed[faces], -1, axis=1)) for posed in (closed_mm, wide_mm)]
    return np.asarray(row_any(lengths[1] > TORN_STRETCH * lengths[0] + TORN_MM))


def marked(part: Part, group: str) -> BoolArray:
    """Return which triangles of a part a vertex group marks, ``(m,)``; none where there is no such group."""
    weights = part.areas.get(group)
    return np.zeros(len(part.faces), bool) if weights is None else np.asarray(row_all(weights[part.faces] > 0.5))


def _gathered(fitting: PosableDesign, poses: Poses, chosen: list[tuple[Part, BoolArray]]) -> LipSkin:
    chosen = [(part, mask) for part, mask in chosen if mask.any()]
    ids, faces, total = [], [np.zeros((0, 3), np.int64)], 0
    for part, mask in chosen:
        turned = np.asarray(fitting.surface(part).oriented_faces, dtype=np.int64)[mask]
        used, compact = np.unique(turned, return_inverse=True)
        ids.append(used)
        faces.append(compact.reshape(-1, 3) + total)
        total += len(used)
    return LipSkin(
        parts=tuple(part.name for part, _ in chosen),
        vertex_ids=tuple(ids),
        face_ids=tuple(np.flatnonzero(mask) for _, mask in chosen),
        faces=np.concatenate(faces),
        posed=tuple(remembering(poses.following(part.name, used)) for (part, _), used in zip(chosen, ids, strict=True)),
    )
