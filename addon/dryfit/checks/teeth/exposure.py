"""Which parts of the teeth can be seen past the lips, from each view."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ...geometry import Surface
from ...geometry.areas import area_vectors
from ...geometry.rows import dot_rows, row_all, row_norms
from ...geometry.sampling import SurfaceSamples, sample_surface
from ...geometry.topology import face_pieces
from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.snapshot import Part
from ...performer.tooth_names import plain_name, teeth_of, tooth_name
from ...performer.views import ViewPoint

SPACING_MM = 0.35
"""Distance between samples on the teeth."""
OFF_MM = 0.01
"""Rays start this far off the tooth, so that it does not hide itself."""
STRIP_MM = 1.0
"""Display height is read in upright strips this wide."""


@dataclass(frozen=True)
class ToothSamples:
    """Samples on one row of teeth at one pose.

    Attributes
    ----------
    part
        The row.
    faces
        Its triangles, facing outward, ``(m, 3)``.
    samples
        Where they are on its triangles.
    posed_mm
        The row's vertices in the pose, ``(n, 3)``, mm.
    tooth
        For each sample the place of its tooth in ``names``, ``(k,)``.
    names, labels
        What each tooth is called, and its short name for measures (``tooth_33``) or ``""``.
    """

    part: Part
    faces: IntArray
    samples: SurfaceSamples
    posed_mm: FloatArray
    tooth: IntArray
    names: tuple[str, ...]
    labels: tuple[str, ...]

    @classmethod
    def on(cls, part: Part, posed_mm: FloatArray, faces: IntArray) -> ToothSamples:
        """Sample a row of teeth; ``faces`` are its triangles turned to face outward."""
        samples = sample_surface(posed_mm, faces, SPACING_MM)
        owner, names, labels = _teeth(part, faces)
        return cls(part, faces, samples, posed_mm, owner[samples.face], names, labels)

    def posed(self, posed_mm: FloatArray) -> ToothSamples:
        """Return the same samples on the row's vertices ``(n, 3)``, mm, in another pose."""
        return replace(self, posed_mm=posed_mm)

    @property
    def points_mm(self) -> FloatArray:
        """The samples in the pose, ``(k, 3)``, mm."""
        return self._placed[0]

    @property
    def normals(self) -> FloatArray:
        """Which way the tooth looks there, ``(k, 3)``, unit."""
        return self._placed[1]

    @cached_property
    def _placed(self) -> tuple[FloatArray, FloatArray]:
        normals = area_vectors(self.posed_mm[self.faces])
        normals /= np.maximum(row_norms(normals)[:, None], 1e-12)
        return self.samples.points(self.posed_mm, self.faces), normals[self.samples.face]

    def facing(self, eye_mm: FloatArray) -> BoolArray:
        """Return which samples are turned toward a place, ``(k,)``."""
        return np.asarray(dot_rows(eye_mm - self.points_mm, self.normals) > 0.0)

    def unhidden(self, among: BoolArray, eye_mm: FloatArray, occluders: Surface | None) -> BoolArray:
        """Return which of some samples ``(k,)`` are not hidden from a place by the occluders, ``(k,)``."""
        if occluders is None or not among.any():
            return among
        start = self.points_mm[among] + OFF_MM * self.normals[among]
        toward = eye_mm - start
        seen = among.copy()
        seen[among] = ~occluders.blocked(start, toward, row_norms(toward))
        return seen


def _teeth(part: Part, faces: IntArray) -> tuple[IntArray, tuple[str, ...], tuple[str, ...]]:
    """Return each triangle's tooth, and the teeth's names and labels: marked teeth, else connected pieces."""
    marked = teeth_of(part)
    if not marked:
        owner = face_pieces(faces)
        count = int(owner.max()) + 1
        return owner, (plain_name(part),) * count, ("",) * count
    owner = np.full(len(faces), len(marked), np.int64)
    for place, inside in enumerate(marked.values()):
        owner[row_all(inside[faces])] = place
    names = (*(tooth_name(number) for number in marked), plain_name(part))
    return owner, names, (*(f"tooth_{number}" for number in marked), "")


@dataclass(frozen=True)
class Exposure:
    """What of one row of teeth is seen.

    Attributes
    ----------
    teeth
        The samples.
    seen
        For each view, which samples are seen, ``(v, k)``.
    height_mm
        Display height of each tooth from each view, ``(v, teeth)``: the tallest upright strip of it that is seen.
    area_mm2
        Seen area of each tooth from each view, ``(v, teeth)``.
    """

    teeth: ToothSamples
    seen: BoolArray
    height_mm: FloatArray
    area_mm2: FloatArray


def seen_past(
    teeth: ToothSamples, views: Sequence[ViewPoint], among: BoolArray, occluders: Surface | None
) -> BoolArray:
    """Return which of some samples ``(v, k)``, those worth looking at from each view, nothing hides, ``(v, k)``."""
    return np.stack([teeth.unhidden(row, view.eye_mm, occluders) for row, view in zip(among, views, strict=True)])


def heights_of(teeth: ToothSamples, seen: BoolArray, views: Sequence[ViewPoint], up: FloatArray) -> FloatArray:
    """Return the display height of each tooth from each view, ``(v, teeth)``, where so much is seen, ``(v, k)``."""
    heights = [
        display_heights_mm(teeth, row, across(up, view.eye_mm - teeth.points_mm.mean(axis=0)), up)
        for row, view in zip(seen, views, strict=True)
    ]
    return np.stack(heights)


def areas_of_mm2(teeth: ToothSamples, seen: BoolArray) -> FloatArray:
    """Return the area of each tooth from each view, ``(v, teeth)``, mm2, where so much is seen, ``(v, k)``."""
    weighted = seen * teeth.samples.area_mm2
    return np.stack([np.bincount(teeth.tooth, weights=row, minlength=len(teeth.names)) for row in weighted])


def across(up: FloatArray, toward: FloatArray) -> FloatArray:
    """Return the level unit vector ``(3,)`` at right angles to a line of sight; any level one for sight straight up."""
    for direction in (toward, *np.eye(3)):
        level = np.cross(up, direction)
        length = float(np.linalg.norm(level))
        if length > 1e-6 * float(np.linalg.norm(direction)):
            break
    return np.asarray(level / length)


def display_heights_mm(teeth: ToothSamples, seen: BoolArray, level: FloatArray, up: FloatArray) -> FloatArray:
    """Return each tooth's display height, ``(teeth,)``, mm: upright extent of what is seen, strip by strip.

    Samples are ``SPACING_MM`` apart, so a strip falls short of the true extent by a tenth of a millimetre or so; the
    tallest strip of a tooth by less.
    """
    heights = np.zeros(len(teeth.names))
    if not seen.any():
        return heights
    points, tooth = teeth.points_mm[seen], teeth.tooth[seen]
    strip = np.floor(points @ level / STRIP_MM).astype(np.int64)
    key = tooth * (np.ptp(strip) + 1) + strip - strip.min()
    _, group = np.unique(key, return_inverse=True)
    height = points @ up
    top, foot = np.full(group.max() + 1, -np.inf), np.full(group.max() + 1, np.inf)
    np.maximum.at(top, group, height)
    np.minimum.at(foot, group, height)
    owner = np.zeros(len(top), np.int64)
    owner[group] = tooth
    np.maximum.at(heights, owner, top - foot)
    return heights
