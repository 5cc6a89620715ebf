"""What a camera sees: one ray a pixel, four where an outline passes."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...model.arrays import BoolArray, FloatArray, IntArray
from .normals import unit_rows
from .stage import Stage
from .viewpoint import Viewpoint

QUARTERS = ((0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75))
STEP_MM = 3.0
"""A jump in depth between neighbouring pixels that counts as an outline, at the least."""
CREASE_COSINE = 0.5
"""A face that turns from its smoothed normal by over 60 degrees is shaded flat: a crease, not a curve."""


@dataclass(frozen=True)
class Shot:
    """Samples of a stage from a viewpoint.

    Attributes
    ----------
    viewpoint
        Where it was seen from.
    pixel, weight
        Each sample's pixel (row times width plus column) and its share of it, ``(s,)``.
    face, barycentric
        What was hit, ``(s,)`` and ``(s, 3)``.
    point_mm, normal, ray
        Place, unit normal toward the viewer and unit direction of sight, ``(s, 3)``.
    part
        Place of the part on stage, ``(s,)``.
    """

    viewpoint: Viewpoint
    pixel: IntArray
    weight: FloatArray
    face: IntArray
    barycentric: FloatArray
    point_mm: FloatArray
    normal: FloatArray
    ray: FloatArray
    part: IntArray

    def coverage(self) -> FloatArray:
        """Return how much of each pixel is filled, ``(height, width)``, 0..1."""
        return self.gathered(np.ones(len(self.pixel)))

    def gathered(self, values: FloatArray) -> FloatArray:
        """Return sample values ``(s,)`` summed by weight into ``(height, width)``."""
        width, height = self.viewpoint.size
        summed = np.bincount(self.pixel, self.weight * values, width * height)
        return np.asarray(summed, dtype=np.float64).reshape(height, width)


def take(stage: Stage, viewpoint: Viewpoint) -> Shot:
    """Cast the rays of a picture."""
    width, height = viewpoint.size
    every = np.arange(width * height)
    face, barycentric, depth = _cast(stage, viewpoint, every, (0.5, 0.5))
    outline = _outline(stage, face, depth, viewpoint)
    plain = every[~outline & (face >= 0)]
    pixels, weights = [plain], [np.ones(len(plain))]
    faces, corners = [face[plain]], [barycentric[plain]]
    edge = every[outline]
    for quarter in QUARTERS:
        fine_face, fine_barycentric, _ = _cast(stage, viewpoint, edge, quarter)
        hit = fine_face >= 0
        pixels.append(edge[hit])
        weights.append(np.full(int(hit.sum()), 0.25))
        faces.append(fine_face[hit])
        corners.append(fine_barycentric[hit])
    return _shot(stage, viewpoint, pixels, weights, faces, corners)


def _cast(
    stage: Stage, viewpoint: Viewpoint, pixels: IntArray, within: tuple[float, float]
) -> tuple[IntArray, FloatArray, FloatArray]:
    width = viewpoint.size[0]
    places = np.stack([pixels % width + within[0], pixels // width + within[1]], axis=1)
    origins, directions = viewpoint.rays(places)
    hits = stage.surface.first_hit(origins, directions)
    face, barycentric, depth = hits.face.astype(np.int64), hits.barycentric.copy(), hits.distance_mm.copy()
    if stage.sunken is not None:
        surface, numbers = stage.sunken
        veiled = np.flatnonzero(stage.is_base(face))
        below = surface.first_hit(origins[veiled], directions[veiled])
        found = below.distance_mm - depth[veiled] < stage.veil_mm
        veiled = veiled[found]
        face[veiled] = numbers[below.face[found]]
        barycentric[veiled] = below.barycentric[found]
        depth[veiled] = below.distance_mm[found]
    return face, barycentric, depth


def _outline(stage: Stage, face: IntArray, depth: FloatArray, viewpoint: Viewpoint) -> BoolArray:
    """Return which pixels an outline passes through, ``(pixels,)``: another part, or a jump in depth, next door."""
    width, height = viewpoint.size
    part = np.where(face >= 0, stage.part_of_face[face], -1).reshape(height, width)
    far = np.where(face >= 0, depth, 0.0).reshape(height, width)
    step = max(STEP_MM, 4 * viewpoint.mm_per_pixel)
    marked = np.zeros((height, width), dtype=bool)
    for first, second in ((np.s_[:, :-1], np.s_[:, 1:]), (np.s_[:-1], np.s_[1:])):
        differs = (part[first] != part[second]) | (np.abs(far[first] - far[second]) > step)
        marked[first] |= differs
        marked[second] |= differs
    return marked.reshape(-1)


def _shot(
    stage: Stage, viewpoint: Viewpoint, pixels: Sequence[IntArray], weights: Sequence[FloatArray],
    faces: Sequence[IntArray], corners: Sequence[FloatArray],
) -> Shot:  # fmt: skip
    face, barycentric = np.concatenate(faces), np.concatenate(corners)
    corner = stage.faces[face]
    point = np.einsum("sc,scx->sx", barycentric, stage.surface.vertices_mm[corner])
    ray = unit_rows(_sight(viewpoint, point))
    normal = _normals(stage, face, corner, barycentric)
    normal *= np.where(np.einsum("sx,sx->s", normal, ray) > 0, -1.0, 1.0)[:, None]
    return Shot(
        viewpoint, np.concatenate(pixels), np.concatenate(weights), face, barycentric, point, normal, ray,
        stage.part_of_face[face],
    )  # fmt: skip


def _sight(viewpoint: Viewpoint, point: FloatArray) -> FloatArray:
    if np.isinf(viewpoint.distance_mm):
        return np.broadcast_to(-viewpoint.toward, point.shape)
    return point - (viewpoint.centre_mm + viewpoint.toward * viewpoint.distance_mm)


def _normals(stage: Stage, face: IntArray, corner: IntArray, barycentric: FloatArray) -> FloatArray:
    smooth = unit_rows(np.einsum("sc,scx->sx", barycentric, stage.vertex_normals[corner]))
    flat = stage.face_normals[face]
    crease = np.einsum("sx,sx->s", smooth, flat) < CREASE_COSINE
    smooth[crease] = flat[crease]
    return smooth
