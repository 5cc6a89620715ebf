"""The opening of a nostril, and how much of it is left: rays from the opening outward."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..geometry import Surface
from ..geometry.areas import area_vectors
from ..geometry.rows import highs, lows, row_all, row_norms
from ..geometry.sphere_directions import across_directions, even_directions
from ..geometry.topology import face_pieces
from ..model.arrays import BoolArray, FloatArray, IntArray
from ..model.kept_answers import KeptAnswers, answered
from .fitting import Fitting
from .head_frame import unit
from .ways_out import WaysOut, ways_out

SPACING_MM = 0.6
LIFT_MM = 0.05
REACH_MM = 25.0
"""What is further before a nostril than this, air finds its way round."""
DIRECTIONS = 600
SMALLEST_MM2 = 10.0
RECIPE = {"alare_{}": 0.5, "subnasale": 0.3, "pronasale": 0.2}
"""Without a vertex group, the middle of a nostril in terms of landmarks: common practice, no source."""
RADIUS_SHARE = 0.33
"""Radius of a nostril as a share of the distance from the midline to alare, where the scan has it filled in."""
SEARCH_SHARE = 0.6
"""Its lining is sought this far from its middle, as a share of the same distance."""
LINING_SKY = 0.75
"""Skin that sees less than this share of its sky lines a nostril; at half a sphere's rim, all of it is seen."""
SKY_DIRECTIONS = 200


@dataclass(frozen=True)
class Nostril:
    """One nostril's opening.

    Attributes
    ----------
    side
        ``left`` or ``right``, the performer's.
    faces
        Triangles of the base that line it, ``(f,)``.
    outward
        Unit vector out of it, ``(3,)``.
    area_mm2
        Size of the opening: of the flat projection of whatever its border spans.
    guessed
        Whether landmarks stood in for a vertex group.
    """

    side: str
    faces: IntArray
    outward: FloatArray
    area_mm2: float
    guessed: bool


def group_name(side: str) -> str:
    """Return the vertex group that marks a nostril."""
    return f"dryfit_nostril_{side}"


def wanted_landmarks(side: str) -> tuple[str, ...]:
    """Return the landmarks that stand in for the vertex group."""
    return tuple(name.format(side) for name in RECIPE)


def find_nostril(fitting: Fitting, side: str) -> Nostril | None:
    """Return a nostril's opening from its vertex group on the base, else from landmarks, else None.

    The border of an area has one area vector whatever skin spans it, so the sum over the marked skin gives the
    opening's own size and direction, deep nostril or filled one.
    """
    weights = fitting.base.areas.get(group_name(side))
    guessed = weights is None or not (weights > 0.5).any()
    if not guessed and weights is not None:
        return _opening(fitting.base_surface, weights > 0.5, side, guessed=False)
    if not all(name in fitting.snapshot.landmarks for name in wanted_landmarks(side)):
        return None
    middle, wide_mm = _by_landmarks(fitting, side)
    away_mm = row_norms(fitting.base.vertices_mm - middle)
    lining = _lining(fitting.base_surface, away_mm <= SEARCH_SHARE * wide_mm)
    found = _opening(fitting.base_surface, lining, side, guessed=True)
    return found or _opening(fitting.base_surface, away_mm <= RADIUS_SHARE * wide_mm, side, guessed=True)


def _opening(surface: Surface, marked: BoolArray, side: str, guessed: bool) -> Nostril | None:
    """Return the opening that the border of the largest marked piece spans, or None where it is next to nothing."""
    faces = _largest_piece(surface, np.flatnonzero(row_all(marked[surface.faces])))
    vector = area_vectors(surface.vertices_mm[surface.faces[faces]]).sum(axis=0)
    area = float(np.linalg.norm(vector))
    return Nostril(side, faces, unit(vector), area, guessed) if area >= SMALLEST_MM2 else None


def _lining(surface: Surface, near: BoolArray) -> BoolArray:
    """Mark the vertices near a nostril that lie in a hollow: the skin about them hides part of their sky."""
    own = np.flatnonzero(near)
    normals = surface.vertex_normals[own]
    seen, whole = np.zeros((2, len(own)))
    for way in even_directions(SKY_DIRECTIONS):
        cosine = normals @ way
        up = np.flatnonzero(cosine > 0.0)
        start = surface.vertices_mm[own[up]] + LIFT_MM * normals[up]
        free = ~surface.blocked(start, np.broadcast_to(way, start.shape), REACH_MM)
        whole[up] += cosine[up]
        seen[up] += cosine[up] * free
    lining = np.zeros(len(near), dtype=bool)
    lining[own] = seen < LINING_SKY * whole
    return lining


def _by_landmarks(fitting: Fitting, side: str) -> tuple[FloatArray, float]:
    """Return the middle of a nostril ``(3,)`` by the nose's landmarks, and the way from the midline to alare, mm."""
    marks = fitting.snapshot.landmarks
    middle = np.sum([share * marks[name.format(side)] for name, share in RECIPE.items()], axis=0)
    midline = marks["pronasale"] - marks["subnasale"]
    arm = marks[f"alare_{side}"] - marks["subnasale"]
    return middle, float(np.linalg.norm(arm - unit(midline) * (arm @ unit(midline))))


def _largest_piece(surface: Surface, faces: IntArray) -> IntArray:
    if not len(faces):
        return faces
    piece = face_pieces(np.asarray(surface.faces[faces], dtype=np.int64))
    sizes = row_norms(area_vectors(surface.vertices_mm[surface.faces[faces]]))
    return faces[piece == np.bincount(piece, sizes).argmax()]


def opening_points(nostril: Nostril, base: Surface) -> FloatArray:
    """Return points ``(k, 3)``, mm, evenly over the opening, just outside it.

    They lie where a line straight into the nostril first meets its marked skin, lifted to the level of the
    border's middle where the skin lies deeper.
    """
    outward = nostril.outward
    used = base.vertices_mm[np.unique(base.faces[nostril.faces])]
    axes = np.stack([*across_directions(outward), outward])
    flat = used @ axes.T
    low, high = lows(flat), highs(flat)
    rows = [np.arange(low[k] + SPACING_MM / 2, high[k], SPACING_MM) for k in (0, 1)]
    grid = np.stack(np.meshgrid(*rows, indexing="ij"), axis=2).reshape(-1, 2)
    above = np.column_stack([grid, np.full(len(grid), high[2] + 1.0)])
    hit = base.first_hit(above @ axes, np.broadcast_to(-outward, (len(grid), 3)))
    inside = np.isin(hit.face, nostril.faces)
    height = high[2] + 1.0 - hit.distance_mm[inside]
    level = np.maximum(height, _border_level(nostril, base, outward)) + LIFT_MM
    points: FloatArray = np.column_stack([grid[inside], level]) @ axes
    return points


def _border_level(nostril: Nostril, base: Surface, outward: FloatArray) -> float:
    faces = base.faces[nostril.faces]
    ends = np.sort(np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
    edges, uses = np.unique(ends, axis=0, return_counts=True)
    border = base.vertices_mm[np.unique(edges[uses == 1])]
    return float((border @ outward).mean())


def breath(nostril: Nostril, base: Surface, worn: list[Surface], kept: KeptAnswers | None = None) -> WaysOut:
    """Return what is left of the ways out of a nostril; ``kept`` has what other designs were answered."""
    points = answered(kept, opening_points, nostril, base)
    return ways_out(points, even_directions(DIRECTIONS), nostril.outward, base, worn, REACH_MM, kept)
