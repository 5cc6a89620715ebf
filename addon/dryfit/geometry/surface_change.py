"""How far two skins stand from each other: signed, at every vertex and at even samples, both ways.

The largest distance both ways is the Hausdorff distance (Huttenlocher, Klanderman & Rucklidge 1993, IEEE Trans. Pattern
Anal. Mach. Intell. 15:850-863, doi 10.1109/34.232073; from memory). One way alone overlooks what is gone.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..model.arrays import FloatArray, IntArray
from .areas import areas_mm2, clip_below
from .sampling import sample_surface
from .surface import Surface

SPACING_MM = 1.0
"""Samples lie about this far apart, at least one on every face; every vertex is looked at besides."""


def stands_off_mm(points_mm: FloatArray, other: Surface, ground: Surface | None = None) -> FloatArray:
    """Return how far points stand off a surface, ``(k,)`` mm: positive outside it, negative below it.

    Parameters
    ----------
    points_mm
        ``(k, 3)``.
    other
        The surface. A point beyond its open border stands off by the distance to that border, or to the ground
        where that is nearer: a thin edge that reaches further over the same skin has hardly changed what is seen.
    ground
        What lies around the surface: the bare base.
    """
    off_mm = other.clearance_mm(points_mm)
    beyond = np.flatnonzero(np.isnan(off_mm))
    if len(beyond):
        reach_mm = other.closest(points_mm[beyond]).distance_mm
        if ground is not None:
            reach_mm = np.minimum(reach_mm, ground.closest(points_mm[beyond]).distance_mm)
        off_mm[beyond] = reach_mm
    return off_mm


@dataclass(frozen=True)
class OneWay:
    """The change of one skin as seen on it; positive where the newer skin stands further out.

    Attributes
    ----------
    surface
        The skin.
    at_vertices_mm
        ``(n,)``, nan at vertices of no face.
    at_samples_mm, area_mm2
        ``(k,)`` at even samples, and the area that each stands for.
    """

    surface: Surface
    at_vertices_mm: FloatArray
    at_samples_mm: FloatArray
    area_mm2: FloatArray

    @property
    def faces(self) -> IntArray:
        """The skin's faces ``(m, 3)``."""
        return self.surface.faces

    @cached_property
    def lowest_mm(self) -> float:
        """The most that the newer skin lies below the older one, negative or zero."""
        return min(0.0, float(np.nanmin(self.at_vertices_mm)), float(self.at_samples_mm.min()))

    @cached_property
    def highest_mm(self) -> float:
        """The most that the newer skin stands above the older one, positive or zero."""
        return max(0.0, float(np.nanmax(self.at_vertices_mm)), float(self.at_samples_mm.max()))

    def area_over_mm2(self, level_mm: float) -> float:
        """Return the area on which the change is larger than a level either way, mm2, over clipped triangles."""
        corners_mm, values_mm = self.surface.vertices_mm[self.faces], self.at_vertices_mm[self.faces]
        cuts = [clip_below(values, -level_mm) for values in (values_mm, -values_mm)]
        return float(sum(areas_mm2(cut.of(corners_mm)).sum() for cut in cuts))


@dataclass(frozen=True)
class SurfaceChange:
    """The change between an older and a newer skin, as seen on each of the two."""

    older: OneWay
    newer: OneWay

    @property
    def raised_mm(self) -> float:
        """The most that the newer skin stands out."""
        return max(self.older.highest_mm, self.newer.highest_mm)

    @property
    def sunk_mm(self) -> float:
        """The most that the newer skin lies deeper, positive."""
        return -min(self.older.lowest_mm, self.newer.lowest_mm)

    @property
    def max_mm(self) -> float:
        """The largest distance between the two, either way."""
        return max(self.raised_mm, self.sunk_mm)

    @property
    def mean_mm(self) -> float:
        """The mean distance over the area of both."""
        return float(np.average(self._sizes_mm, weights=self._areas_mm2))

    def percentile_mm(self, percent: float) -> float:
        """Return the distance that this share of the area of both stays under."""
        order = np.argsort(self._sizes_mm, kind="stable")
        reached = np.cumsum(self._areas_mm2[order])
        place = np.searchsorted(reached, reached[-1] * percent / 100.0)
        return float(self._sizes_mm[order[min(int(place), len(order) - 1)]])

    @cached_property
    def _sizes_mm(self) -> FloatArray:
        return np.abs(np.concatenate([self.older.at_samples_mm, self.newer.at_samples_mm]))

    @cached_property
    def _areas_mm2(self) -> FloatArray:
        return np.concatenate([self.older.area_mm2, self.newer.area_mm2])


def surface_change(older: Surface, newer: Surface, ground: Surface | None = None) -> SurfaceChange:
    """Measure the change from an older to a newer skin, which may have any other faces.

    Parameters
    ----------
    older, newer
        The two skins, facing outward, in the same place.
    ground
        The bare base around both.

    Notes
    -----
    Each place is held against the nearest place of the other skin, so a slide along the surface goes unseen, and a
    move larger than the distance to the next fold reads as the distance to that fold.
    """
    return SurfaceChange(_one_way(older, newer, ground, -1.0), _one_way(newer, older, ground, 1.0))


def _one_way(skin: Surface, other: Surface, ground: Surface | None, way: float) -> OneWay:
    used = np.unique(skin.faces)
    at_vertices_mm = np.full(len(skin.vertices_mm), np.nan)
    at_vertices_mm[used] = way * stands_off_mm(skin.vertices_mm[used], other, ground)
    samples = sample_surface(skin.vertices_mm, skin.faces, SPACING_MM)
    points_mm = samples.points(skin.vertices_mm, skin.faces)
    at_samples_mm = way * stands_off_mm(points_mm, other, ground)
    return OneWay(skin, at_vertices_mm, at_samples_mm, samples.area_mm2)
