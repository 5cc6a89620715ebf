"""Bind a mesh to a surface with a cleft in it so that no part of it rides the wrong side."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import BoolArray, FloatArray, IntArray
from .binding import Binding, bind
from .geodesic import distance_along
from .rows import row_all
from .surface import Surface
from .topology import connected, mesh_edges

FIRM_MM, FIRM_TIMES = 3.0, 2.0
"""A vertex is firmly on one side where the other is further than this much and so many times as far."""
REACH_MM = 40.0
"""Vertices in doubt ask the firm ones within this distance along the mesh."""
NONE, ONE, OTHER = 0, 1, 2


@dataclass(frozen=True)
class Cleft:
    """The two sides of a cleft in a surface, as surfaces of their own.

    Attributes
    ----------
    faces
        Triangles of the whole surface on the one and on the other side.
    sides
        The two sides.
    side_of_face
        For each triangle of the whole, ``NONE``, ``ONE`` or ``OTHER``, ``(m,)``.
    """

    faces: tuple[IntArray, IntArray]
    sides: tuple[Surface, Surface]
    side_of_face: IntArray

    @classmethod
    def between(cls, surface: Surface, one: BoolArray, other: BoolArray) -> "Cleft":
        """Build the sides from marks ``(m,)`` on the triangles of a surface; neither may be empty."""
        faces = (np.flatnonzero(one), np.flatnonzero(other))
        sides = (Surface(surface.vertices_mm, surface.faces[faces[0]]),
                 Surface(surface.vertices_mm, surface.faces[faces[1]]))  # fmt: skip
        return cls(faces, sides, np.where(one, ONE, np.where(other, OTHER, NONE)))

    def bind_to(self, side: int, points_mm: FloatArray) -> Binding:
        """Bind points ``(k, 3)``, mm, to the nearest places of one side, numbered as on the whole surface."""
        own = bind(self.sides[side - 1], points_mm)
        return Binding(self.faces[side - 1][own.face], own.barycentric, own.offset_mm, own.distance_mm)


def bind_parted(surface: Surface, cleft: Cleft, vertices_mm: FloatArray, faces: IntArray) -> Binding:
    """Bind the vertices ``(n, 3)``, mm, of a mesh with faces ``(m, 3)`` to a surface, each to its own side of a cleft.

    Where both sides of the cleft touch or face each other, the nearest place may be on the wrong one. So a vertex
    takes the side of the firmly bound one that is nearest along its own mesh; a connected piece with no firm vertex
    goes as a whole to the side that it is nearer to on average.
    """
    nearest = bind(surface, vertices_mm)
    near = np.flatnonzero(cleft.side_of_face[nearest.face] != NONE)
    if not len(near):
        return nearest
    to_mm = np.stack([side.closest(vertices_mm[near]).distance_mm for side in cleft.sides])
    wanted = np.zeros(len(vertices_mm), np.int64)
    wanted[near] = _sides(to_mm, near, vertices_mm, faces)
    moved = np.flatnonzero((wanted != NONE) & (wanted != cleft.side_of_face[nearest.face]))
    for side in (ONE, OTHER):
        ids = moved[wanted[moved] == side]
        if len(ids):
            nearest = nearest.with_others(ids, cleft.bind_to(side, vertices_mm[ids]))
    return nearest


def _sides(to_mm: FloatArray, near: IntArray, vertices_mm: FloatArray, faces: IntArray) -> IntArray:
    """Return the side that each vertex ``near`` ``(k,)`` the cleft belongs to, by its distances ``(2, k)`` to both."""
    own_mm, far_mm = np.sort(to_mm, axis=0)
    side = np.where(to_mm[0] <= to_mm[1], ONE, OTHER)
    firm = far_mm >= np.maximum(own_mm + FIRM_MM, FIRM_TIMES * own_mm)
    if firm.all():
        return side
    compact = np.full(len(vertices_mm), -1)
    compact[near] = np.arange(len(near))
    inner = compact[faces]
    inner = inner[row_all(inner >= 0)]
    from_mm, source = distance_along(vertices_mm[near], inner, np.flatnonzero(firm), REACH_MM)
    told = np.isfinite(from_mm)
    side[told] = side[np.flatnonzero(firm)[source[told]]]
    piece = connected(len(near), mesh_edges(inner).ends)
    lean_mm = np.bincount(piece, weights=to_mm[1] - to_mm[0])
    side[~told] = np.where(lean_mm[piece[~told]] >= 0.0, ONE, OTHER)
    return side
