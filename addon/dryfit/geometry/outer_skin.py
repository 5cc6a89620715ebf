"""Which faces of a worn piece are its outer skin, and where that skin ends.

A piece may be an open skin, a closed shell with an inner face on the base, or a full-head sculpt that
flows into the base. The outer skin is what is seen; its border is the rim.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..model.arrays import BoolArray, FloatArray, IntArray
from .areas import area_vectors, areas_mm2
from .geodesic import distance_along
from .rows import dot_rows, row_all, row_any, row_means, row_norms, row_sums
from .surface import Surface
from .topology import border_edges, crowded_edges, face_pairs, face_pieces, is_closed, mesh_edges, spread

WALL_DEG = 45.0
"""Faces at a rim that stand steeper than this on the skin beneath are a cut edge, not a blend."""
FLOWING_SHARE = 0.2
"""A piece that lies on the base with more than this share of its skin flows into it."""
SHELL_SHARE = 0.2
"""An open piece is a shell when more than this share of it looks at the base."""
NUDGE_MM = 1e-3
WALL_REACH_MM = 15.0
TUCK_MM = 0.5
"""How far below the base a cut edge may be tucked and still be known as one."""


@dataclass(frozen=True)
class OuterSkin:
    """The outer skin of one piece.

    Attributes
    ----------
    vertices_mm
        All vertices of the piece, ``(n, 3)``.
    faces
        All faces ``(m, 3)``, turned the right way round.
    outer
        ``(m,)`` faces of the outer skin, cut edges included.
    wall
        ``(m,)`` faces of cut edges: steep and connected to the rim.
    turned
        ``(m,)`` faces that were inside out and have been turned.
    flows
        Whether the piece flows into the base, so that its rim is where it leaves it.
    closed
        Whether the piece is a closed shell.
    crowded
        Edges shared by more than two faces.
    clearance_mm, foot_mm
        Clearance ``(n,)`` and closest base point ``(n, 3)`` of each vertex; clearance is nan off the scan.
    """

    vertices_mm: FloatArray
    faces: IntArray
    outer: BoolArray
    wall: BoolArray
    turned: BoolArray
    flows: bool
    closed: bool
    crowded: int
    clearance_mm: FloatArray
    foot_mm: FloatArray

    @cached_property
    def outer_faces(self) -> IntArray:
        """Outer skin faces ``(o, 3)``, cut edges included."""
        return self.faces[self.outer]

    @cached_property
    def over_base_faces(self) -> IntArray:
        """Faces ``(o, 3)`` that have to lie over the base.

        A cut edge goes down to the base or is tucked into it, so it is left out; where a sculpt flows into
        the base there is no such edge and a steep face belongs to a hollow.
        """
        return self.outer_faces if self.flows else self.top_faces

    @cached_property
    def top_faces(self) -> IntArray:
        """Outer skin faces without cut edges; their border is the rim."""
        return self.faces[self.outer & ~self.wall]

    @cached_property
    def rim_edges(self) -> IntArray:
        """The rim as directed edges ``(r, 2)``, those off the scan left out."""
        edges = border_edges(self.top_faces)
        return edges[row_all(np.isfinite(self.clearance_mm[edges]))]


def outer_skin(vertices_mm: FloatArray, faces: IntArray, base: Surface, contact_mm: float) -> OuterSkin:
    """Find the outer skin of a piece over a base.

    Parameters
    ----------
    vertices_mm, faces
        The piece, ``(n, 3)`` and ``(m, 3)``.
    base
        The base, facing outward.
    contact_mm
        Skin nearer than this lies on the base.
    """
    clearance_mm, near = base.clearance_and_closest(vertices_mm)
    base_normals = base.normals[near.face]
    turned = _inside_out(vertices_mm, faces, base_normals)
    faces = np.where(turned[:, None], faces[:, ::-1], faces)
    slope = _slope(vertices_mm, faces, base_normals)
    outer = ~_inner_layer(vertices_mm, faces, slope, base)
    lying = outer & row_all(np.abs(clearance_mm)[faces] <= contact_mm)
    sizes = areas_mm2(vertices_mm[faces])
    flows = bool(sizes[lying].sum() > FLOWING_SHARE * sizes[outer].sum())
    if flows:
        outer = outer & ~lying
    return OuterSkin(
        vertices_mm=vertices_mm,
        faces=faces,
        outer=outer,
        wall=_walls(vertices_mm, faces, outer, slope, clearance_mm),
        turned=turned,
        flows=flows,
        closed=is_closed(faces),
        crowded=crowded_edges(faces),
        clearance_mm=clearance_mm,
        foot_mm=near.point,
    )


def _inside_out(vertices_mm: FloatArray, faces: IntArray, base_normals: FloatArray) -> BoolArray:
    """Mark the faces of connected pieces that look inward: by volume where closed, by the base where open."""
    piece = face_pieces(faces)
    edges = mesh_edges(faces)
    open_edges = np.bincount(piece, row_sums(edges.uses[edges.of_face] == 1))
    triangles = vertices_mm[faces] - vertices_mm[faces].mean(axis=(0, 1))
    vectors = area_vectors(triangles)
    volume = np.bincount(piece, dot_rows(vectors, row_means(triangles)))
    along = np.bincount(piece, dot_rows(vectors, row_means(base_normals[faces])))
    inward: BoolArray = np.where(open_edges == 0, volume, along) < 0.0
    return inward[piece]


def _slope(vertices_mm: FloatArray, faces: IntArray, base_normals: FloatArray) -> FloatArray:
    """Return ``(m,)`` cosines between each face and the skin beneath it: 1 parallel, 0 upright, -1 facing it."""
    vectors = area_vectors(vertices_mm[faces])
    beneath = row_sums(base_normals[faces])
    length = row_norms(vectors) * row_norms(beneath)
    slope: FloatArray = dot_rows(vectors, beneath) / np.where(length > 0.0, length, 1.0)
    return slope


def _inner_layer(vertices_mm: FloatArray, faces: IntArray, slope: FloatArray, base: Surface) -> BoolArray:
    """Mark the faces that lie against the base: they look at it and nothing of the piece is between.

    Faces of an overhang look at the base too. In a shell they have the piece's own inner face beneath them; an
    open skin has no inner face at all, which shows in how little of it looks at the base.
    """
    inner = slope < 0.0
    inner &= ~_is_single(vertices_mm, faces, inner)
    looking = np.flatnonzero(inner)
    if not len(looking):
        return inner
    centres = row_means(vertices_mm[faces[looking]])
    clearance_mm, near = base.clearance_and_closest(centres)
    outside = clearance_mm > 2.0 * NUDGE_MM
    toward = (near.point - centres)[outside]
    reach = near.distance_mm[outside]
    direction = toward / reach[:, None]
    start = centres[outside] + NUDGE_MM * direction
    covered = Surface(vertices_mm, faces).blocked(start, direction, reach - NUDGE_MM)
    inner[looking[outside][covered]] = False
    return inner


def _is_single(vertices_mm: FloatArray, faces: IntArray, looking: BoolArray) -> BoolArray:
    """Mark the faces ``(m,)`` of open pieces with too few faces looking at the base to be a shell."""
    piece = face_pieces(faces)
    edges = mesh_edges(faces)
    open_edges = np.bincount(piece, row_sums(edges.uses[edges.of_face] == 1))
    sizes = areas_mm2(vertices_mm[faces])
    share = np.bincount(piece, sizes * looking) / np.maximum(np.bincount(piece, sizes), 1e-12)
    return ((open_edges > 0) & (share < SHELL_SHARE))[piece]


def _walls(
    vertices_mm: FloatArray, faces: IntArray, outer: BoolArray, slope: FloatArray, clearance_mm: FloatArray
) -> BoolArray:
    """Mark the cut edges: steep outer faces joined to the skin's border over steep faces.

    A cut edge goes straight up, so none of it is further from the border than a slope of ``WALL_DEG`` is long
    at that height. Steep sides of ridges that happen to reach the border are further away and stay.
    """
    steep = outer & (slope < np.cos(np.radians(WALL_DEG)))
    border = np.unique(border_edges(faces[outer]))
    if not steep.any() or not len(border):
        return np.zeros(len(faces), dtype=bool)
    inward_mm, _ = distance_along(vertices_mm, faces[outer], border, WALL_REACH_MM)
    reach_mm = np.fmax(clearance_mm, 0.0) / np.sin(np.radians(WALL_DEG)) + TUCK_MM
    steep &= row_all((inward_mm <= reach_mm)[faces])
    at_border = np.zeros(len(vertices_mm), dtype=bool)
    at_border[border] = True
    return spread(steep & row_any(at_border[faces]), steep, face_pairs(faces))
