"""A triangle surface that answers: how near, which side, what does a ray hit, what crosses it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np
import numpy.typing as npt

from ..model.content import array_digest
from .areas import area_vectors
from .best_engine import best_engine
from .checked_arrays import Bytes, Flags, Floats, Ints, Signs, as_faces, as_limits, as_rows, read_only
from .engine import Engine, Nearest
from .errors import BadShape, NoSurface
from .repair import BORDER, Joints, Repair, as_given, join, repair
from .rows import row_any, unit_rows
from .sign import signs, signs_by_nearest

FACE, EDGE, VERTEX, OPEN_BORDER = 0, 1, 2, 3
"""Values of ``Closest.feature``."""
INDEX_BYTES = 160
"""What the kernel's index takes for a face, about."""


@dataclass(frozen=True)
class Closest:
    """Closest points of a surface.

    Attributes
    ----------
    distance_mm : (k,) float64
        Never negative.
    face : (k,) int32
        The face it lies on; the lowest number among equals.
    barycentric : (k, 3) float64
        Weights of that face's corners; they add to 1.
    point : (k, 3) float64
    feature : (k,) uint8
        ``FACE`` 0, ``EDGE`` 1, ``VERTEX`` 2, or ``OPEN_BORDER`` 3: an edge or vertex where the surface ends.
    """

    distance_mm: Floats
    face: Ints
    barycentric: Floats
    point: Floats
    feature: Bytes


@dataclass(frozen=True)
class Hits:
    """First hits of rays.

    Attributes
    ----------
    distance_mm : (k,) float64
        From the origin, in mm whatever the direction's length; inf where nothing is hit.
    face : (k,) int32
        -1 where nothing is hit; the lowest number among equals.
    barycentric : (k, 3) float64
        Weights of the face's corners; zeros where nothing is hit.
    """

    distance_mm: Floats
    face: Ints
    barycentric: Floats


class Surface:
    """Triangles, indexed in space.

    Building indexes the faces once; every query may then be asked from several threads. Large queries are split over
    the cores this process may use (``DRYFIT_THREADS`` overrides); answers don't depend on how.

    Parameters
    ----------
    vertices_mm : (n, 3) array_like of float
        Copied. float64, finite.
    faces : (m, 3) array_like of int
        Copied. Faces without an area are allowed and never decide a sign.
    engine : Engine, optional
        Who measures; the compiled kernel where it fits, else its numpy twin.
    facing_out : bool, optional
        The faces are known to look outward: read them as they are. For a cutting out of a larger surface, which by
        itself may look like the inside of something.

    Raises
    ------
    NoSurface
        If no face has an area.
    BadFaces
        If faces aren't integer triangles over the vertices.
    BadShape, NotFinite
        If vertices aren't (n, 3) finite numbers.

    Examples
    --------
    >>> surface = Surface([[0, 0, 0], [10, 0, 0], [0, 10, 0]], [[0, 1, 2]])
    >>> surface.clearance_mm([[2, 2, 3], [2, 2, -1], [20, 0, 0]])
    array([ 3., -1., nan])
    """

    def __init__(
        self,
        vertices_mm: npt.ArrayLike,
        faces: npt.ArrayLike,
        *,
        engine: Engine | None = None,
        facing_out: bool = False,
    ) -> None:
        self.engine = engine or best_engine()
        self._facing_out = facing_out
        self._vertices = as_rows("vertices_mm", vertices_mm).copy()
        self._faces = as_faces(faces, len(self._vertices))
        self._check_area()
        self._tree = self.engine.tree(self._vertices, self._faces)
        self._kept: dict[str, Any] = {}

    def _check_area(self) -> None:
        # on any real surface the first few faces answer
        for start in range(0, len(self._faces), 512):
            if area_vectors(self._vertices[self._faces[start : start + 512]]).any():
                return
        raise NoSurface(len(self._faces))

    def __repr__(self) -> str:
        return f"<Surface: {len(self._vertices)} vertices, {len(self._faces)} faces, {self.engine.name}>"

    def __reduce__(self) -> tuple[Any, tuple[Floats, Ints]]:
        return partial(Surface, facing_out=self._facing_out), (self._vertices, self._faces)

    @property
    def content(self) -> bytes:
        """A digest of vertices and faces, and of how they are read. Worked out when first needed."""
        if "content" not in self._kept:
            pieces = [array_digest(self._vertices), array_digest(self._faces), bytes([self._facing_out])]
            self._kept["content"] = b"".join(pieces)
        kept: bytes = self._kept["content"]
        return kept

    @property
    def index_bytes(self) -> int:
        """About how much memory the index takes beside vertices and faces."""
        return INDEX_BYTES * len(self._faces)

    @property
    def vertices_mm(self) -> Floats:
        """Vertices, (n, 3), read-only."""
        return read_only(self._vertices)

    @property
    def faces(self) -> Ints:
        """Faces as given, (m, 3) int32, read-only."""
        return read_only(self._faces)

    @property
    def joints(self) -> Joints:
        """How faces hang together, welded by position. Worked out when first needed."""
        if "joints" not in self._kept:
            self._kept["joints"] = join(self._vertices, self._faces, self.engine)
        kept: Joints = self._kept["joints"]
        return kept

    @property
    def repaired(self) -> Repair:
        """How the mesh is read: welded, turned one way, outside out. Worked out when first needed."""
        if "repair" not in self._kept:
            read = as_given if self._facing_out else repair
            self._kept["repair"] = read(self._vertices, self.joints, self.engine)
        kept: Repair = self._kept["repair"]
        return kept

    @property
    def oriented_faces(self) -> Ints:
        """Faces (m, 3) int32 turned one way and outside out, read-only; corner 0 stays first."""
        turned = self.turned
        return read_only(np.where(turned[:, None], self._faces[:, [0, 2, 1]], self._faces))

    @property
    def turned(self) -> Flags:
        """Whether each face had to be read backwards, (m,) bool."""
        return np.asarray(self.repaired.turn < 0)

    @property
    def inside_out(self) -> bool:
        """Whether most of the area was handed in facing inward. Clearance is measured the right way round even so."""
        return self.repaired.inside_out

    @property
    def closed(self) -> bool:
        """Whether the surface, welded by position, has no open border."""
        return self.joints.closed

    @property
    def crosses_itself(self) -> bool:
        """Whether faces that share no corner cross. Worked out when first needed."""
        return bool(len(self.crossing_faces))

    @property
    def crossing_faces(self) -> Ints:
        """Faces that cross another face of the same surface, ascending, (c,). Worked out when first needed."""
        if "crosses" not in self._kept:
            self._kept["crosses"] = np.unique(self.crossings(self))
        return self._kept["crosses"]

    @property
    def normals(self) -> Floats:
        """Outward unit normals of the faces, (m, 3); zero where a face has no area."""
        vectors = area_vectors(self._vertices[self._faces])
        return read_only(unit_rows(vectors) * self.repaired.turn[:, None])

    @property
    def vertex_normals(self) -> Floats:
        """Outward unit normals, weighted by angle, (n, 3); zero at vertices of no face."""
        repaired = self.repaired
        return read_only(unit_rows(repaired.skin.vertex_normals)[repaired.joints.label])

    def refit(self, vertices_mm: npt.ArrayLike) -> Surface:
        """Move the vertices and keep the faces; much cheaper than building again.

        The index stays right however far vertices move, but queries slow down when the shape changes a lot. What is
        known of welds, neighbours and the way out is kept, unless vertices that were one position no longer are.

        Parameters
        ----------
        vertices_mm : (n, 3) array_like

        Returns
        -------
        Surface
            This one.

        Raises
        ------
        BadShape
            If there are not as many vertices as before.
        NotFinite, NoSurface
            As for a new surface.
        """
        moved = as_rows("vertices_mm", vertices_mm).copy()
        if moved.shape != self._vertices.shape:
            raise BadShape("vertices_mm", f"{self._vertices.shape} as before", f"{moved.shape}")
        before, self._vertices = self._vertices, moved
        try:
            self._check_area()
        except NoSurface:
            self._vertices = before
            raise
        self._tree.refit(moved)
        self._keep_repair(moved)
        return self

    def _keep_repair(self, moved: Floats) -> None:
        """Carry over what does not depend on where vertices are."""
        kept, self._kept = self._kept, {}
        joints: Joints | None = kept.get("joints")
        if joints is None or not np.array_equal(moved[joints.label], moved):
            return
        self._kept["joints"] = joints
        if "repair" in kept:
            self._kept["repair"] = replace(kept["repair"], vertices=moved)

    def closest(self, points_mm: npt.ArrayLike) -> Closest:
        """Return the closest point of the surface to each point.

        Parameters
        ----------
        points_mm : (k, 3) array_like

        Raises
        ------
        BadShape, NotFinite
            If points aren't (k, 3) finite numbers.
        """
        return self._told(self._tree.closest(as_rows("points_mm", points_mm)))

    def _told(self, near: Nearest) -> Closest:
        return Closest(near.distance, near.face, near.weights, near.point, self._features(near))

    def _features(self, near: Nearest) -> Bytes:
        """Turn the kernel's corner and edge numbers into kinds."""
        raw, joints = near.feature, self.joints
        kind = np.where(raw >= 4, VERTEX, np.where(raw >= 1, EDGE, FACE)).astype(np.uint8)
        edge, vertex = np.flatnonzero(kind == EDGE), np.flatnonzero(kind == VERTEX)
        ends = joints.neighbour[near.face[edge], raw[edge] - 1] == BORDER
        kind[edge[ends]] = OPEN_BORDER
        kind[vertex[joints.on_border[joints.corners[near.face[vertex], raw[vertex] - 4]]]] = OPEN_BORDER
        return kind

    def clearance_mm(self, points_mm: npt.ArrayLike) -> Floats:
        """Return the signed distance, positive outside, negative inside, nan off the scan.

        The sign comes from the angle-weighted normal of the closest face, edge, or vertex of the welded mesh
        (Baerentzen & Aanaes 2005, https://doi.org/10.1109/TVCG.2005.49), which needs no volume and so holds on open
        scans. Where the mesh contradicts itself (parts that overlap, three faces at an edge, faces that cross) the
        winding number (Barill et al. 2018, https://doi.org/10.1145/3197517.3201337) decides instead.

        A point is off the scan when its closest point lies on an open border and the point lies more than about six
        degrees beyond that edge; straight above the border it is still measured.

        Parameters
        ----------
        points_mm : (k, 3) array_like

        Raises
        ------
        BadShape, NotFinite
            If points aren't (k, 3) finite numbers.
        """
        points = as_rows("points_mm", points_mm)
        near = self._tree.closest(points)
        return near.distance * signs(self, points, near)

    def clearance_and_closest(self, points_mm: npt.ArrayLike) -> tuple[Floats, Closest]:
        """Return what ``clearance_mm`` and ``closest`` do, looked for once.

        Parameters
        ----------
        points_mm : (k, 3) array_like

        Raises
        ------
        BadShape, NotFinite
            If points aren't (k, 3) finite numbers.
        """
        points = as_rows("points_mm", points_mm)
        near = self._tree.closest(points)
        return near.distance * signs(self, points, near), self._told(near)

    def clearance_by_nearest(self, points_mm: npt.ArrayLike) -> tuple[Floats, Closest]:
        """Return the signed distance and what is nearest, taking the nearest feature's word for the side.

        Where the mesh contradicts itself this is many times faster than ``clearance_mm``, and wrong within what
        overlaps; elsewhere it is the same.

        Parameters
        ----------
        points_mm : (k, 3) array_like

        Raises
        ------
        BadShape, NotFinite
            If points aren't (k, 3) finite numbers.
        """
        points = as_rows("points_mm", points_mm)
        near = self._tree.closest(points)
        return near.distance * signs_by_nearest(self, points, near), self._told(near)

    def winding_number(self, points_mm: npt.ArrayLike) -> Floats:
        """Return the generalized winding number, (k,): about 1 inside, 0 outside, between on open scans.

        Of the repaired surface (turned one way, doubled faces counted once). Right to about 0.01.

        Parameters
        ----------
        points_mm : (k, 3) array_like

        Raises
        ------
        BadShape, NotFinite
            If points aren't (k, 3) finite numbers.
        """
        return self._tree.winding(as_rows("points_mm", points_mm), self._weight())

    def _weight(self) -> Signs:
        return self.repaired.weight

    def first_hit(self, origins_mm: npt.ArrayLike, directions: npt.ArrayLike, limit_mm: npt.ArrayLike = np.inf) -> Hits:
        """Return what each ray hits first. Both sides of a face count, and so does a hit at the origin itself.

        Parameters
        ----------
        origins_mm : (k, 3) array_like
        directions : (k, 3) array_like
            Any length but zero; distances are mm all the same.
        limit_mm : float or (k,) array_like, optional
            Hits beyond it don't count; a hit right at it does.

        Raises
        ------
        BadShape, NotFinite
            If origins and directions aren't equally many finite rows, a direction is zero, or a limit is nan.
        """
        rays = self._rays(origins_mm, directions, limit_mm)
        found = self._tree.rays(*rays)
        return Hits(found.distance, found.face, found.weights)

    def blocked(self, origins_mm: npt.ArrayLike, directions: npt.ArrayLike, limit_mm: npt.ArrayLike = np.inf) -> Flags:
        """Return whether each ray hits anything, (k,) bool. Faster than ``first_hit``; the same rays count.

        Parameters
        ----------
        origins_mm, directions, limit_mm
            As for ``first_hit``. A ray that starts on the surface is blocked by it: move the origin off first.

        Raises
        ------
        BadShape, NotFinite
            As for ``first_hit``.
        """
        return np.asarray(self._tree.blocked(*self._rays(origins_mm, directions, limit_mm)) >= 0)

    @staticmethod
    def _rays(
        origins_mm: npt.ArrayLike, directions: npt.ArrayLike, limit_mm: npt.ArrayLike
    ) -> tuple[Floats, Floats, Floats]:
        origins, along = as_rows("origins_mm", origins_mm), as_rows("directions", directions)
        if origins.shape != along.shape:
            raise BadShape("directions", f"{origins.shape} like the origins", f"{along.shape}")
        idle = np.flatnonzero(along[:, 0] == 0.0)
        zero = int((~row_any(along[idle])).sum())
        if zero:
            raise BadShape("directions", "of any length but zero", f"{zero} zero rows")
        return origins, along, as_limits(limit_mm, len(origins))

    def crossings(self, other: Surface) -> Ints:
        """Return the pairs of faces that pass through each other, (p, 2), sorted.

        Faces that only touch (at a point, along an edge, or flat on one another) don't cross: each must have corners
        strictly on both sides of the other's plane.

        Parameters
        ----------
        other : Surface
            For ``surface.crossings(surface)`` each pair comes once, lower face first, and faces that share a corner
            (welded by position) are left out.
        """
        label = self.joints.label if other is self else None
        if other.engine is not self.engine:
            other = Surface(other._vertices, other._faces, engine=self.engine)
        return self._tree.crossings(other._tree, label)
