"""Which way a rigid mould comes off a skin, and what holds it: undercuts along a pull direction.

The mould lies outside the skin and moves along the pull. What faces away from the pull, or has the skin itself
further along it, holds the mould.
"""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import BoolArray, FloatArray, IntArray
from .areas import Facets, area_vectors
from .surface import Surface
from .wall import fine_facets

NUDGE_MM = 1e-3
SAMPLES = 3000
SLANT = 0.2
"""Share of held area by which a pull at right angles to the piece's mean outward direction has to be better."""
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


def cut_skin(vertices_mm: FloatArray, faces: IntArray) -> Skin:
    """Cut a skin that faces outward, ``(n, 3)`` and ``(m, 3)``, into facets of about a millimetre.

    Raises
    ------
    NoSurface
        When it has no area.
    """
    triangles = vertices_mm[faces]
    facets = fine_facets(triangles)
    vectors = area_vectors(facets.of(triangles))
    sizes = np.linalg.norm(vectors, axis=1)
    return Skin(
        faces=faces,
        facets=facets,
        middles_mm=facets.of(triangles).mean(axis=1),
        outward=vectors / np.where(sizes > 0.0, sizes, 1.0)[:, None],
        areas_mm2=sizes,
        surface=Surface(vertices_mm, faces),
    )


def held(skin: Skin, pull: FloatArray, some: IntArray | None = None) -> BoolArray:
    """Mark the facets (or ``some`` of them) that a rigid mould pulled along ``pull`` ``(3,)`` can't leave."""
    own = np.arange(len(skin.middles_mm)) if some is None else some
    facing = skin.outward[own] @ pull
    holds = facing < 0.0
    open_ones = np.flatnonzero(~holds)
    start = skin.middles_mm[own[open_ones]] + NUDGE_MM * skin.outward[own[open_ones]]
    holds[open_ones] = skin.surface.blocked(start, np.broadcast_to(pull, start.shape))
    return holds


def best_pull(skin: Skin, about: FloatArray) -> FloatArray:
    """Return the unit direction ``(3,)`` with the least held area; of nearly equal ones the one nearest the middle.

    Parameters
    ----------
    skin
        What the mould lies on.
    about
        Direction in the middle of the search, ``(3,)``.
    """
    some = _even_samples(skin.areas_mm2)
    middle = about / np.linalg.norm(about)
    best, least = middle, np.inf
    for half_angle_deg, step_deg in CONES_DEG:
        tried = directions_about(best, half_angle_deg, step_deg)
        cost = np.array([held(skin, pull, some).mean() for pull in tried]) + SLANT * (1.0 - tried @ middle)
        if cost.min() < least:
            best, least = tried[cost.argmin()], float(cost.min())
    return best


def _even_samples(areas_mm2: FloatArray) -> IntArray:
    """Return facets spread evenly over the area, the same ones every time; large ones may come more than once."""
    reached = np.cumsum(areas_mm2)
    return np.searchsorted(reached, (np.arange(SAMPLES) + 0.5) / SAMPLES * reached[-1])


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


def across_directions(axis: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return two unit directions ``(3,)`` at right angles to a unit axis and to each other."""
    least = np.eye(3)[np.abs(axis).argmin()]
    across = np.cross(axis, least)
    across = across / np.linalg.norm(across)
    return across, np.cross(axis, across)
