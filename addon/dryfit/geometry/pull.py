"""Which way a rigid mould comes off a skin, and what holds it: undercuts along a pull direction.

The mould lies outside the skin and moves along the pull. What faces away from the pull, or has the skin itself
further along it, holds the mould.
"""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import BoolArray, FloatArray, IntArray
from .areas import Facets, area_vectors, areas_mm2
from .rows import row_means, row_norms
from .sphere_directions import across_directions
from .surface import Surface
from .wall import fine_facets

NUDGE_MM = 1e-3
UPRIGHT = 1e-6
"""A wall that leans back by less than this, as a sine, stands along the pull and lets go."""
FACET_MM = (0.3, 2.0)
SAMPLES = 3000
WRAPPED = 0.25
"""A skin whose mean outward direction is shorter than this wraps round: a hemisphere has 0.5, a full sphere 0."""
NEAR_ENOUGH = 0.01
"""Share of the area by which a slanting pull has to be better than one along the piece's mean outward direction."""
CONES_DEG = ((75.0, 15.0), (10.0, 5.0), (3.0, 1.5))
"""Half angle and step of the search: all about the piece's mean outward direction, then nearer to the best."""


@dataclass(frozen=True)
class Skin:
    """An outer skin cut into facets.

    Attributes
    ----------
    faces
        ``(m, 3)``, facing outward.
    facets
        The facets.
    middles_mm, outward
        Middle and unit normal of each facet, ``(q, 3)``; a zero normal where it has no area.
    areas_mm2
        ``(q,)``.
    surface
        The skin, indexed.
    """

    faces: IntArray
    facets: Facets
    middles_mm: FloatArray
    outward: FloatArray
    areas_mm2: FloatArray
    surface: Surface

    @property
    def mean_outward(self) -> FloatArray:
        """Area-weighted mean direction, not of unit length: shorter the more the skin wraps round."""
        mean: FloatArray = self.areas_mm2 @ self.outward / self.areas_mm2.sum()
        return mean

    @property
    def wraps(self) -> bool:
        """Whether it goes so far round that its mould has to open to two sides."""
        return float(np.linalg.norm(self.mean_outward)) < WRAPPED


def cut_skin(vertices_mm: FloatArray, faces: IntArray) -> Skin:
    """Cut a skin that faces outward, ``(n, 3)`` and ``(m, 3)``, into facets of a fiftieth of its size, up to 2 mm.

    Raises
    ------
    NoSurface
        When it has no area.
    """
    triangles = vertices_mm[faces]
    size_mm = float(np.sqrt(areas_mm2(triangles).sum()))
    facets = fine_facets(triangles, float(np.clip(size_mm / 50.0, *FACET_MM)))
    corners_mm = facets.of(triangles)
    vectors = area_vectors(corners_mm)
    sizes = row_norms(vectors)
    return Skin(
        faces=faces,
        facets=facets,
        middles_mm=row_means(corners_mm),
        outward=vectors / np.where(sizes > 0.0, sizes, 1.0)[:, None],
        areas_mm2=sizes,
        surface=Surface(vertices_mm, faces),
    )


def held(skin: Skin, pulls: FloatArray, some: IntArray | None = None) -> BoolArray:
    """Mark the facets (or ``some`` of them) that a rigid mould can't leave along any of ``pulls`` ``(p, 3)``.

    One pull for a mould with one outer half; two opposite ones for front and back halves that share the skin.
    """
    own = np.arange(len(skin.middles_mm)) if some is None else some
    holds = np.ones(len(own), dtype=bool)
    for pull in pulls:
        facing = skin.outward[own] @ pull >= -UPRIGHT
        free = np.flatnonzero(facing & holds)
        start = skin.middles_mm[own[free]] + NUDGE_MM * skin.outward[own[free]]
        holds[free] = skin.surface.blocked(start, np.broadcast_to(pull, start.shape))
    return holds


def best_pulls(skin: Skin, about: FloatArray) -> FloatArray:
    """Return the unit directions ``(p, 3)`` with the least held area; of nearly equal ones the nearest to the middle.

    Parameters
    ----------
    skin
        What the mould lies on. One that wraps round the head gets two opposite pulls, any other one.
    about
        Direction in the middle of the search, ``(3,)``.
    """
    some = _even_samples(skin.areas_mm2)
    middle = about / np.linalg.norm(about)
    signs = (1.0, -1.0) if skin.wraps else (1.0,)
    best, least = middle, np.inf
    for half_angle_deg, step_deg in CONES_DEG:
        tried = directions_about(best, half_angle_deg, step_deg)
        caught = np.array([held(skin, np.outer(signs, pull), some).mean() for pull in tried])
        if caught.min() < least:
            best, least = tried[caught.argmin()], float(caught.min())
    straight, slanting = (_held_share(skin, np.outer(signs, pull)) for pull in (middle, best))
    return np.outer(signs, middle if straight <= slanting + NEAR_ENOUGH else best)


def _held_share(skin: Skin, pulls: FloatArray) -> float:
    return float(skin.areas_mm2[held(skin, pulls)].sum() / skin.areas_mm2.sum())


def _even_samples(areas_mm2: FloatArray) -> IntArray:
    """Return facets spread evenly over the area, the same ones every time; large ones may come more than once."""
    reached = np.cumsum(areas_mm2)
    chosen: IntArray = np.searchsorted(reached, (np.arange(SAMPLES) + 0.5) / SAMPLES * reached[-1])
    return chosen


def directions_about(axis: FloatArray, half_angle_deg: float, step_deg: float) -> FloatArray:
    """Return unit directions ``(d, 3)`` in even rings about an axis, the axis itself first."""
    across, upward = across_directions(axis)
    rings = [np.asarray(axis, dtype=np.float64)[None]]
    for polar in np.radians(np.arange(step_deg, half_angle_deg + step_deg / 2, step_deg)):
        count = max(6, round(2 * np.pi * np.sin(polar) / np.radians(step_deg)))
        turn = np.arange(count) * 2 * np.pi / count
        ring = np.outer(np.cos(turn), across) + np.outer(np.sin(turn), upward)
        rings.append(np.cos(polar) * axis + np.sin(polar) * ring)
    return np.concatenate(rings)
