"""What can run into something while the face moves: teeth, hardware, worn pieces and the performer's skin."""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cached_property

import numpy as np

from ...geometry import Surface
from ...geometry.areas import areas_mm2
from ...geometry.contact.inscribed import NO_BALLS, Balls, balls_in
from ...geometry.rows import row_highs, row_lows
from ...geometry.sampling import SurfaceSamples, sample_surface
from ...geometry.topology import connected, mesh_edges
from ...model.arrays import BoolArray, FloatArray, IntArray, frozen
from ...model.snapshot import Part, Role
from ..fitting import Fitting
from ..motion.posed import Posed, remembering
from ..motion.poses import Poses
from ..tooth_names import pieces_of, plain_name
from ..worn import worn_face_ids

SPACING_MM = 1.0
MOST_SAMPLES = 20_000
"""Triangles larger than a square of this side get points of their own, further apart where there would be more."""
POSES_KEPT = 3
"""Two poses are looked at beside each other, and both ends against the middle."""
BALLS_MM = 1.0
"""A rigid body is filled with balls that touch its skin about so far apart."""
TIE_BREAK_MM = 1e-7
"""Every body stands this far off its place, each its own way, so that no two walls are ever exactly flush."""


class Matter(StrEnum):
    """What a body is made of, as far as giving way goes."""

    RIGID = "rigid"
    PIECE = "piece"
    SKIN = "skin"


@dataclass(frozen=True, eq=False)
class Body:
    """Something that can be run into, cut down to what can be reached.

    Attributes
    ----------
    name
        For sentences: the part's name, "upper lip" or "lower lip".
    part
        The part it is of.
    matter
        What it is made of.
    vertex_ids
        Vertices of the part that are used, ascending, ``(n,)``.
    faces
        Triangles over the used vertices, facing outward, ``(m, 3)``.
    counting
        Which triangles are this body; the others are only there to tell inside from outside, ``(m,)``.
    thickness_mm
        Of an open skin, how much material is below each used vertex, ``(n,)``; None where the inside is solid.
    face_ids
        The part's triangle that each triangle is, ``(m,)``.
    """

    name: str
    part: Part
    matter: Matter
    vertex_ids: IntArray
    faces: IntArray
    counting: BoolArray
    thickness_mm: FloatArray | None = None
    face_ids: IntArray = field(default_factory=lambda: np.zeros(0, np.int64))

    def __post_init__(self) -> None:
        """Freeze the arrays: what tells one body from another is read once, whoever looks at it."""
        for name in ("vertex_ids", "faces", "counting", "thickness_mm", "face_ids"):
            array = getattr(self, name)
            if array is not None:
                object.__setattr__(self, name, frozen(array, array.dtype))

    @property
    def own(self) -> bool:
        """Whether it is the performer's own: the base, and teeth that are marked so."""
        return self.part.own or self.part.role == Role.BASE

    @property
    def whole_name(self) -> str:
        """What it is called as a whole: a lip, the skin, or the part."""
        return self.name if self.matter == Matter.SKIN else plain_name(self.part)

    @cached_property
    def off_mm(self) -> FloatArray:
        """How far the body is moved to break ties, ``(3,)``, mm: its own way, from its name."""
        turns = np.random.default_rng(zlib.crc32(self.part.name.encode())).normal(size=3)
        return np.asarray(TIE_BREAK_MM * turns / np.linalg.norm(turns))

    @property
    def depth_mm(self) -> float:
        """How far beyond the box of its triangles a body may reach: what is cut off at its back is not known."""
        if self.matter == Matter.RIGID:
            return 0.0
        return np.inf if self.thickness_mm is None else float(self.thickness_mm.max())

    @cached_property
    def counted(self) -> IntArray:
        """Place among the used vertices of those on counting triangles, ascending, ``(c,)``."""
        return np.unique(self.faces[self.counting])

    @property
    def cutting(self) -> int:
        """The same for bodies of one cutting, which differ only in what of it counts."""
        return id(self.faces)

    @cached_property
    def pieces(self) -> tuple[str, ...]:
        """Names of the pieces: the marked teeth and what is left of a row, else the body itself."""
        return tuple(name for name, _ in self._pieces)

    @cached_property
    def piece(self) -> IntArray:
        """Place in ``pieces`` of each used vertex, ``(n,)``."""
        place = np.zeros(len(self.part.vertices_mm), np.int64)
        for number, (_, ids) in enumerate(self._pieces):
            place[ids] = number
        return place[self.vertex_ids]

    def of_crossing(self, faces: IntArray) -> BoolArray:
        """Return which pieces own some triangles ``(k,)``, ``(pieces,)``."""
        owning = np.zeros(len(self.pieces), bool)
        owning[self.piece[self.faces[faces]]] = True
        return owning

    @cached_property
    def _samples(self) -> SurfaceSamples:
        """Points on the triangles too large for their corners to stand for them."""
        rest_mm = self.part.vertices_mm[self.vertex_ids]
        area = areas_mm2(rest_mm[self.faces])
        spacing_mm = max(SPACING_MM, float(np.sqrt(area.sum() / MOST_SAMPLES)))
        large = np.flatnonzero(area > spacing_mm**2)
        found = sample_surface(rest_mm, self.faces[large], spacing_mm)
        return SurfaceSamples(large[found.face], found.barycentric, found.area_mm2)

    @cached_property
    def _rest(self) -> Surface:
        return Surface(self.part.vertices_mm[self.vertex_ids], self.faces, facing_out=True)

    @cached_property
    def _balls(self) -> Balls:
        """Balls within a rigid body; none in anything else, which gives way."""
        if self.matter != Matter.RIGID:
            return NO_BALLS
        return balls_in(self._rest, BALLS_MM)

    @cached_property
    def anchor(self) -> IntArray:
        """Used vertex of each point, ``(p,)``: the vertices themselves, else a corner of the triangle it is made on."""
        on_faces = np.concatenate([self._samples.face, self._balls.face[:, 0]])
        return np.concatenate([np.arange(len(self.vertex_ids)), self.faces[on_faces, 0]])

    @cached_property
    def radius_mm(self) -> FloatArray:
        """Radius of the ball round each point that lies wholly in the body, ``(p,)``; 0 on its skin."""
        return np.concatenate([np.zeros(len(self.anchor) - len(self._balls.radius_mm)), self._balls.radius_mm])

    def points(self, vertices_mm: FloatArray) -> FloatArray:
        """Return the points that are asked how deep they are, ``(p, 3)``, mm, on posed vertices ``(n, 3)``."""
        samples, balls = self._samples, self._balls
        return np.concatenate(
            [vertices_mm, samples.points(vertices_mm, self.faces), balls.centres_mm(vertices_mm, self.faces)]
        )

    @cached_property
    def shell(self) -> IntArray:
        """Connected shell of each used vertex, ``(n,)``: teeth of one row that nobody marked are told apart by it."""
        seams = np.stack([np.arange(len(self.vertex_ids)), self._rest.joints.label], axis=1)
        return connected(len(self.vertex_ids), np.concatenate([self.edges, seams]))

    @cached_property
    def edges(self) -> IntArray:
        """Every edge once, ``(e, 2)`` used vertices."""
        return mesh_edges(self.faces).ends

    def rest_point_mm(self, point: int) -> FloatArray:
        """Return where one of the points is at rest, ``(3,)``, mm."""
        return np.asarray(self.points(self.part.vertices_mm[self.vertex_ids])[point])

    @cached_property
    def _pieces(self) -> list[tuple[str, IntArray]]:
        if self.part.role in (Role.UPPER_TEETH, Role.LOWER_TEETH):
            return pieces_of(self.part)
        return [(self.whole_name, np.arange(len(self.part.vertices_mm)))]


def rigid_body(fitting: Fitting, part: Part) -> Body:
    """Return a row of teeth or a piece of hardware, whole."""
    return fitting.kept.of(_rigid, part)


def _rigid(part: Part) -> Body:
    faces = np.asarray(Surface(part.vertices_mm, part.faces).oriented_faces, dtype=np.int64)
    body = cut(part, part.name, Matter.RIGID, faces, np.arange(len(faces)))
    _ = body.anchor  # found now, to be kept with it
    return body


def worn_body(fitting: Fitting, part: Part, near: BoolArray) -> Body | None:
    """Return the worn triangles of an appliance that are ``near`` ``(m,)``; None where there are none.

    A closed shell encloses its material. An open skin has it between itself and the base: as much as it stands over
    the base at rest.
    """
    return fitting.kept.of(_worn, part, fitting.alone(part), near) if near.any() else None


def _worn(part: Part, fitting: Fitting, near: BoolArray) -> Body | None:
    skin = fitting.skin(part)
    ids = worn_face_ids(part, fitting)
    ids = ids[near[ids]]
    if not len(ids):
        return None
    thickness_mm = None if skin.closed else np.nan_to_num(np.maximum(skin.clearance_mm, 0.0))
    return cut(part, part.name, Matter.PIECE, skin.faces[ids], ids, thickness_mm)


def skin_bodies(fitting: Fitting, near: BoolArray, counting: Mapping[str, BoolArray]) -> list[Body]:
    """Return bodies of the base's triangles that are ``near`` ``(m,)``.

    Parameters
    ----------
    fitting
        The design.
    near
        Which triangles of the base are kept, ``(m,)``.
    counting
        Name -> which triangles of the base are that body, ``(m,)``; names that keep none are left out.
    """
    faces = np.asarray(fitting.base_surface.oriented_faces, dtype=np.int64)[near]
    kept = {name: mask[near] for name, mask in counting.items() if mask[near].any()}
    whole = cut(fitting.base, fitting.base.name, Matter.SKIN, faces, np.flatnonzero(near))
    return [replace(whole, name=name, counting=mask) for name, mask in kept.items()]


def cut(
    part: Part,
    name: str,
    matter: Matter,
    faces: IntArray,
    face_ids: IntArray,
    thickness_mm: FloatArray | None = None,
) -> Body:
    """Return a body made of some faces ``(m, 3)`` of a part, turned outward; ``thickness_mm`` is of all vertices."""
    used, compact = np.unique(faces, return_inverse=True)
    return Body(
        name=name,
        part=part,
        matter=matter,
        vertex_ids=used,
        faces=compact.reshape(-1, 3),
        counting=np.ones(len(faces), bool),
        thickness_mm=None if thickness_mm is None else thickness_mm[used],
        face_ids=face_ids,
    )


Indexes = dict[int, Surface]
"""One index for each cutting, by ``Body.cutting``."""


class PosedBodies:
    """Bodies in one motion: each is posed and indexed once at each t, whoever asks.

    Parameters
    ----------
    poses
        The motion.
    indexes
        The bodies' indexes, shared between motions and moved to whatever pose is asked.
    """

    def __init__(self, poses: Poses, indexes: Indexes) -> None:
        self.poses = poses
        self._indexes = indexes
        self._posed: dict[int, Posed] = {}
        self._boxes: dict[int, tuple[float, FloatArray, FloatArray]] = {}
        self._points: dict[int, Posed] = {}

    def vertices(self, body: Body, t: float) -> FloatArray:
        """Return a body's vertices ``(n, 3)``, mm, at ``t``."""
        if body.cutting not in self._posed:
            posed = self.poses.following(body.part.name, body.vertex_ids)
            self._posed[body.cutting] = remembering(posed, POSES_KEPT)
        return self._posed[body.cutting](t)

    def points(self, body: Body, t: float) -> FloatArray:
        """Return the points of a body that are asked how deep they are, ``(p, 3)``, mm, at ``t``."""
        if body.cutting not in self._points:
            self._points[body.cutting] = remembering(lambda t: body.points(self.vertices(body, t)))
        return self._points[body.cutting](t)

    def apart(self, first: Body, second: Body, t: float) -> bool:
        """Tell whether the upright boxes round two bodies do not overlap at ``t``."""
        (low, high), (other_low, other_high) = self._box(first, t), self._box(second, t)
        return bool((np.maximum(low, other_low) > np.minimum(high, other_high)).any())

    def _box(self, body: Body, t: float) -> tuple[FloatArray, FloatArray]:
        if body.cutting not in self._boxes or self._boxes[body.cutting][0] != t:
            columns = np.ascontiguousarray(self.vertices(body, t).T)
            self._boxes[body.cutting] = (t, row_lows(columns), row_highs(columns))
        return self._boxes[body.cutting][1:]

    def surface(self, body: Body, t: float) -> Surface:
        """Return a body indexed at ``t``, off its place by ``TIE_BREAK_MM``; it moves on with the next pose asked."""
        moved = self.vertices(body, t) + body.off_mm
        if body.cutting not in self._indexes:
            self._indexes[body.cutting] = Surface(moved, body.faces, facing_out=True)
        elif not np.array_equal(self._indexes[body.cutting].vertices_mm, moved):
            self._indexes[body.cutting].refit(moved)
        return self._indexes[body.cutting]
