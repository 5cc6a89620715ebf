"""The skin that can be sculpted on: where it is, which way is outward, and how far outward lines run uncrossed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..geometry import Surface
from ..geometry.rows import row_norms, unit_rows
from ..geometry.sphere_directions import even_directions
from ..geometry.topology import mesh_edges
from ..model.arrays import BoolArray, FloatArray, IntArray
from ..model.snapshot import Role
from ..performer.fitting import Fitting
from ..performer.head_frame import HeadFrame

REACH_MM = 60.0
"""Nothing is looked for further out than this: a form so high is a headpiece, and its own weight stops it first."""
SMOOTHED_MM = 2.0
"""Outward is a mean over about so much skin, so that pores and wrinkles don't fan out."""
MOST_PASSES = 60
SKY_DIRECTIONS = 16
LIFT_MM = 0.3
OPEN_SHARE = 0.08
"""Skin that sees less than this share of its sky lines a mouth, a nostril, an ear or the back of a lid."""


@dataclass(frozen=True)
class Ground:
    """A base as the ground of a sculpture.

    Attributes
    ----------
    surface
        The base at rest, facing outward.
    outward
        Unit directions at its vertices ``(n, 3)``; zero at vertices of no face.
    sculpted
        Which vertices can be sculpted on ``(n,)``: not the lining of mouth and nostrils, nor what lies behind lids.
    """

    surface: Surface
    outward: FloatArray
    sculpted: BoolArray

    @property
    def points_mm(self) -> FloatArray:
        """The skin at rest, ``(n, 3)``."""
        return self.surface.vertices_mm

    @cached_property
    def faces(self) -> IntArray:
        """Triangles facing outward, ``(m, 3)``."""
        return np.asarray(self.surface.oriented_faces, dtype=np.int64)

    @cached_property
    def edges(self) -> IntArray:
        """Every edge once, ``(e, 2)``."""
        return mesh_edges(self.faces).ends

    def grown(self, height_mm: FloatArray) -> FloatArray:
        """Return where the skin stands under heights ``(n,)``, mm, ``(n, 3)``."""
        return self.points_mm + height_mm[:, None] * self.outward

    def least_around(self, values: FloatArray) -> FloatArray:
        """Return the least of each vertex's value ``(n,)`` and its neighbours'; nan counts as nothing."""
        least = np.where(np.isnan(values), np.inf, values)
        one, other = self.edges.T
        here = least.copy()
        np.minimum.at(here, one, least[other])
        np.minimum.at(here, other, least[one])
        return here

    @cached_property
    def fold_mm(self) -> FloatArray:
        """How far outward lines run before neighbours cross, ``(n,)``: the way to the middle of a hollow; else inf."""
        corners, ways = self.points_mm[self.faces], self.outward[self.faces]
        first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
        turn_one, turn_two = ways[:, 1] - ways[:, 0], ways[:, 2] - ways[:, 0]
        facing = unit_rows(np.cross(first, second))
        still, linear, square = (
            np.einsum("mx,mx->m", facing, vector)
            for vector in (
                np.cross(first, second),
                np.cross(first, turn_two) + np.cross(turn_one, second),
                np.cross(turn_one, turn_two),
            )
        )
        height = np.full(len(self.points_mm), np.inf)
        flips = _least_root(still, linear, square)
        for corner in range(3):
            np.minimum.at(height, self.faces[:, corner], flips)
        return height


def _least_root(still: FloatArray, linear: FloatArray, square: FloatArray) -> FloatArray:
    """Return the least positive root of ``still + linear h + square h^2``, ``(m,)``; inf where there is none."""
    with np.errstate(divide="ignore", invalid="ignore"):
        rest = np.sqrt(linear**2 - 4.0 * square * still)
        low = -0.5 * (linear + np.where(linear >= 0.0, rest, -rest))
        roots = np.stack([low / square, still / low])
    roots = np.where((roots > 0.0) & np.isfinite(roots), roots, np.inf)
    return np.where(still > 0.0, roots.min(axis=0), np.inf)


def skin_of(fitting: Fitting) -> Ground:
    """Return the base of a fitting as ground to sculpt on."""
    surface = fitting.base_surface
    faces = np.asarray(surface.oriented_faces, dtype=np.int64)
    outward = smoothed_directions(surface, faces)
    return Ground(surface, outward, _under_the_sky(fitting, surface, outward))


def smoothed_directions(surface: Surface, faces: IntArray) -> FloatArray:
    """Return outward unit directions ``(n, 3)``, each a mean over skin within about ``SMOOTHED_MM``.

    Averaging over neighbours spreads by an edge's length a pass, and by its root over passes; so finer meshes of the
    same skin get more passes.
    """
    _, first_of, place = np.unique(surface.joints.label, return_index=True, return_inverse=True)
    ends = mesh_edges(place[faces]).ends
    points = surface.vertices_mm[first_of]
    length_mm = float(np.median(row_norms(points[ends[:, 0]] - points[ends[:, 1]])))
    passes = int(np.clip(np.round((SMOOTHED_MM / max(length_mm, 1e-6)) ** 2), 1, MOST_PASSES))
    both = np.concatenate([ends, ends[:, ::-1]])
    order = np.argsort(both[:, 0], kind="stable")
    start, other = both[order, 0], both[order, 1]
    holders, first = np.unique(start, return_index=True)
    ways = np.array(surface.vertex_normals[first_of])
    for _ in range(passes):
        ways[holders] = unit_rows(ways[holders] + np.add.reduceat(ways[other], first, axis=0))
    return np.ascontiguousarray(ways[place])


def _under_the_sky(fitting: Fitting, surface: Surface, outward: FloatArray) -> BoolArray:
    """Tell which vertices see enough of the open past the head, its eyes and its teeth, ``(n,)``."""
    solid = [surface]
    for part in fitting.snapshot.with_role(Role.UPPER_TEETH, Role.LOWER_TEETH, Role.EYE_LEFT, Role.EYE_RIGHT):
        solid.append(fitting.surface(part))
    seen, whole = np.zeros((2, len(outward)))
    start = surface.vertices_mm + LIFT_MM * outward
    frame = HeadFrame.from_landmarks(fitting.snapshot.landmarks)
    one_side = even_directions(SKY_DIRECTIONS)
    for way in frame.points(np.concatenate([one_side, one_side * [-1.0, 1.0, 1.0]])):
        cosine = outward @ way
        up = np.flatnonzero(cosine > 0.1)
        free = np.ones(len(up), bool)
        for body in solid:
            asked = np.flatnonzero(free)
            free[asked] = ~body.blocked(start[up[asked]], np.broadcast_to(way, (len(asked), 3)))
        whole[up] += cosine[up]
        seen[up] += cosine[up] * free
    return np.asarray(seen > OPEN_SHARE * np.maximum(whole, 1e-9))
