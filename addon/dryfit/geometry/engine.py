"""The questions below every measurement, and what comes back. Who answers stands in ``best_engine``."""

from __future__ import annotations

from typing import NamedTuple, Protocol

from .checked_arrays import Bytes, Flags, Floats, Ints, Signs


class Nearest(NamedTuple):
    """Closest points: distance (k,), face (k,), weights (k, 3), point (k, 3), feature (k,).

    feature is 0 inside the face, 1 + i on the edge from corner i to the next, 4 + i on corner i.
    """

    distance: Floats
    face: Ints
    weights: Floats
    point: Floats
    feature: Bytes


class RayHits(NamedTuple):
    """First hits: distance (k,) inf for none, face (k,) -1 for none, weights (k, 3)."""

    distance: Floats
    face: Ints
    weights: Floats


class WeldedSkin(NamedTuple):
    """What the sign of a distance needs: welded faces, their neighbours, turns, and normals."""

    vertices: Floats
    faces: Ints
    neighbour: Ints
    turn: Signs
    vertex_normals: Floats
    outward: Floats


class RestSkin(NamedTuple):
    """A skin at rest that carries points: faces (m, 3).

    For each the inverse transpose of its frame, weighted by its area and entry by entry (3, 3, m); for each vertex 1
    over the area round it, and whether there is none, (n,) each.
    """

    faces: Ints
    inverse: Floats
    share: Floats
    alone: Flags


class BoundPlaces(NamedTuple):
    """Points bound to a skin: face (k,), weights of its corners (k, 3), offset (k, 3)."""

    face: Ints
    weights: Floats
    offset: Floats


class Tree(Protocol):
    """Faces arranged in space. Arrays are checked before they come here."""

    vertices: Floats
    faces: Ints

    def refit(self, vertices: Floats) -> None:
        """Move the vertices."""

    def closest(self, points: Floats) -> Nearest:
        """Return the closest point of any face; the lowest face number among equals."""

    def rays(self, origins: Floats, directions: Floats, limits: Floats) -> RayHits:
        """Return the first hit of each ray within its limit; both sides of a face count."""

    def blocked(self, origins: Floats, directions: Floats, limits: Floats) -> Ints:
        """Return for each ray some face it hits within its limit, -1 for none."""

    def crossings(self, other: Tree, label: Ints | None) -> Ints:
        """Return (p, 2) crossing faces; with label (one a vertex) this tree's own, sharing no label."""

    def winding(self, points: Floats, turn: Signs) -> Floats:
        """Return generalized winding numbers with faces weighted by turn."""


class Engine(Protocol):
    """One implementation of everything.

    Kernel and twin give the same answer but where two are equally right and rounding picks. Of the sign of a
    clearance: two places are equally near, or the nearest faces lie on each other, have no area, or their normals
    cancel. Of a ray: through a face's border, along its plane or from a point on it. Of a crossing: faces that touch
    without passing through. ``tests/geometry/test_soups.py`` holds that soups of triangles differ nowhere else, all
    within 1e-11 of their size; the skin of a solid has none of the first but for places equally near, which agree.
    """

    name: str

    def tree(self, vertices: Floats, faces: Ints) -> Tree:
        """Arrange faces in space."""

    def weld(self, vertices: Floats) -> Ints:
        """Return for each vertex the first vertex at the same position."""

    def neighbours(self, faces: Ints, vertex_count: int) -> Ints:
        """Return (m, 3) sides across each side, see the kernel's ``neighbours``."""

    def orient(self, faces: Ints, neighbour: Ints) -> tuple[Ints, Signs, Bytes]:
        """Return piece (m,), turn (m,), seam (pieces,)."""

    def vertex_normals(self, vertices: Floats, faces: Ints, turn: Signs) -> Floats:
        """Return (n, 3) angle-weighted normals, not of unit length."""

    def sides(self, skin: WeldedSkin, points: Floats, near: Nearest, slant: float, touch: float) -> Signs:
        """Return 1 outside, -1 inside, 0 on the surface, 2 beyond an open border, 3 undecided."""

    def march(
        self, vertices: Floats, faces: Ints, neighbour: Ints, sources: Ints, start: Floats, limit: float
    ) -> tuple[Floats, Ints]:
        """Return distance (n,) and the index into sources (n,)."""

    def carry(self, skin: RestSkin, bound: BoundPlaces, vertices: Floats) -> tuple[Floats, Flags]:
        """Return where bound points are on a skin's posed vertices (k, 3), and whose turn was not found (k,)."""

    def lay_flat(self, vertices: Floats, faces: Ints) -> tuple[Floats, Floats, Floats]:
        """Return the first edge's length, and the third corner along and above it, (m,) each."""
