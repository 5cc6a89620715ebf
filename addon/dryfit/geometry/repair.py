"""What a mesh would be if it had been built carefully: welded, without doubles, turned one way, outside out.

Only answers change, never the caller's arrays: the surface keeps its faces and numbers, and this says how to read them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from .areas import area_vectors, solid_angles
from .checked_arrays import Flags, Floats, Ints, Signs
from .engine import Engine, WeldedSkin
from .rows import cross_rows, dot_rows, row_any, row_norms, unit_rows

NEARLY_CLOSED = 0.25
"""A part whose vector area is less than this share of its area encloses a volume well enough to know its outside."""

BORDER, TANGLED, PASSED_OVER = -1, -2, -3
"""Entries of ``neighbour`` that are not sides."""


@dataclass(frozen=True)
class Joints:
    """How faces hang together once welded by position.

    Attributes
    ----------
    label : (n,) int32
        First vertex at the position of each vertex.
    corners : (m, 3) int32
        Faces over labels.
    neighbour : (m, 3) int32
        ``3 g + e``: side e of face g lies across; -1 open border; -2 three or more faces meet; -3 two corners are one.
    doubled : (m,) bool
        Faces over the same corners as an earlier face; they share its neighbours.
    """

    label: Ints
    corners: Ints
    neighbour: Ints
    doubled: Flags

    @property
    def closed(self) -> bool:
        """Whether no side is an open border."""
        return not bool((self.neighbour == BORDER).any())

    @property
    def tangled(self) -> bool:
        """Whether three or more faces meet at some side."""
        return bool((self.neighbour == TANGLED).any())

    @cached_property
    def on_border(self) -> Flags:
        """Whether each label lies on an open border, (n,)."""
        marked = np.zeros(len(self.label), bool)
        face, side = np.nonzero(self.neighbour == BORDER)
        marked[self.corners[face, side]] = marked[self.corners[face, (side + 1) % 3]] = True
        return marked


@dataclass(frozen=True)
class Repair:
    """How to read a mesh.

    Attributes
    ----------
    joints : Joints
    piece : (m,) int32
        Parts joined over sides.
    turn : (m,) int8
        -1 where the face must be read backwards for the surface to face out.
    seam : bool
        Some part cannot be turned consistently (a Moebius band).
    inside_out : bool
        Most of the area had to be turned because it faced inward.
    """

    vertices: Floats
    joints: Joints
    piece: Ints
    turn: Signs
    seam: bool
    inside_out: bool
    engine: Engine

    @property
    def piece_count(self) -> int:
        """Number of parts with an area, joined over sides."""
        whole = self.joints.neighbour[:, 0] != PASSED_OVER
        return len(np.unique(self.piece[whole]))

    @cached_property
    def weight(self) -> Signs:
        """Turn, zero for doubled faces: what each face counts in a winding number."""
        return np.where(self.joints.doubled, 0, self.turn).astype(np.int8)

    @cached_property
    def skin(self) -> WeldedSkin:
        """Arrays the sign of a distance is read from."""
        joints = self.joints
        normals = self.engine.vertex_normals(self.vertices, joints.corners, self.weight)
        outward = border_directions(self.vertices, joints.corners, joints.neighbour)
        return WeldedSkin(self.vertices, joints.corners, joints.neighbour, self.turn, normals, outward)


def border_directions(vertices: Floats, corners: Ints, neighbour: Ints) -> Floats:
    """Return (n, 3) unit directions that leave the surface at vertices of its open border, zero elsewhere."""
    outward = np.zeros((len(vertices), 3))
    face, side = np.nonzero(neighbour == BORDER)
    start, end = corners[face, side], corners[face, (side + 1) % 3]
    away = unit_rows(cross_rows(vertices[end] - vertices[start], area_vectors(vertices[corners[face]])))
    np.add.at(outward, start, away)
    np.add.at(outward, end, away)
    return unit_rows(outward)


def join(vertices: Floats, faces: Ints, engine: Engine) -> Joints:
    """Weld by position, find each side's neighbour, and set doubled faces aside."""
    label = engine.weld(vertices)
    corners = np.ascontiguousarray(label[faces])
    neighbour = engine.neighbours(corners, len(vertices))
    doubled = np.zeros(len(faces), bool)
    if (neighbour == TANGLED).any():
        neighbour, doubled = _set_doubles_aside(corners, neighbour, len(vertices), engine)
    return Joints(label, corners, neighbour, doubled)


def repair(vertices: Floats, joints: Joints, engine: Engine) -> Repair:
    """Turn each part by the majority of its area, and outside out.

    A part that encloses a volume (closed, or open by a hole small against it, see ``NEARLY_CLOSED``) is turned to
    face out, unless it lies inside another part: then it is that part's inner wall and faces in. A part too open to
    have an outside keeps the way most of its area faces.
    """
    corners = joints.corners
    piece, turn, seam = engine.orient(corners, joints.neighbour)
    vectors = area_vectors(vertices[corners])
    areas = row_norms(vectors)
    backwards = np.bincount(piece, areas * turn) < 0
    turn = np.where(backwards[piece], -turn, turn).astype(np.int8)
    inward = _facing_in(vertices, corners, vectors, areas, piece, turn)
    turn = np.where(inward[piece], -turn, turn).astype(np.int8)
    turned_out = float(areas[inward[piece]].sum()) > float(areas.sum()) / 2
    return Repair(vertices, joints, piece, turn, bool(seam.any()), turned_out, engine)


def as_given(vertices: Floats, joints: Joints, engine: Engine) -> Repair:
    """Read a mesh as it was handed in, every face the way it looks."""
    piece, _, _ = engine.orient(joints.corners, joints.neighbour)
    return Repair(vertices, joints, piece, np.ones(len(joints.corners), np.int8), False, False, engine)


def _set_doubles_aside(corners: Ints, neighbour: Ints, count: int, engine: Engine) -> tuple[Ints, Flags]:
    """Pass over faces that repeat an earlier one, and let them share its neighbours."""
    doubled = np.zeros(len(corners), bool)
    suspect = np.flatnonzero(row_any(neighbour == TANGLED))
    sorted_corners = np.sort(corners[suspect], axis=1)
    _, first, which = np.unique(sorted_corners, axis=0, return_index=True, return_inverse=True)
    original = suspect[first[which.reshape(-1)]]
    double = suspect[suspect != original]
    if not len(double):
        return neighbour, doubled
    doubled[double] = True
    original = original[suspect != original]
    blanked = corners.copy()
    blanked[double] = blanked[double, :1]
    neighbour = engine.neighbours(blanked, count)
    neighbour[double] = np.take_along_axis(neighbour[original], _same_sides(corners[original], corners[double]), axis=1)
    return neighbour, doubled


def _same_sides(originals: Ints, doubles: Ints) -> npt.NDArray[np.intp]:
    """Return for each side of the doubles the same side of the originals, (p, 3)."""
    sides = np.empty(doubles.shape, np.intp)
    for side in range(3):
        opposite = doubles[:, (side + 2) % 3]
        sides[:, side] = ((originals == opposite[:, None]).argmax(axis=1) + 1) % 3
    return sides


def _facing_in(vertices: Floats, corners: Ints, vectors: Floats, areas: Floats, piece: Ints, turn: Signs) -> Flags:
    """Return whether each part encloses a volume and faces into it, (pieces,)."""
    pieces = int(piece.max()) + 1
    area = np.bincount(piece, areas, pieces)
    turned = vectors * turn[:, None]
    at = vertices[corners[:, 0]]
    total = _sum_by(piece, turned, pieces)
    centre = _sum_by(piece, at * areas[:, None], pieces) / np.where(area > 0, area, 1)[:, None]
    volume = np.bincount(piece, dot_rows(at - centre[piece], turned), pieces)
    inward = (row_norms(total) < NEARLY_CLOSED * area) & (volume < 0)
    if pieces > 1:
        for part in np.flatnonzero(inward & (area > 0)):
            inward[part] = not _lies_within(vertices, corners, turn, piece, int(part))
    return inward


def _sum_by(piece: Ints, rows: Floats, pieces: int) -> Floats:
    """Return the sums of rows (m, 3) by piece, (pieces, 3)."""
    return np.stack([np.bincount(piece, rows[:, i], pieces) for i in range(3)], axis=1)


def _lies_within(vertices: Floats, corners: Ints, turn: Signs, piece: Ints, part: int) -> bool:
    """Return whether a part lies inside the others, by their winding number around one of its vertices."""
    own = piece == part
    probe = vertices[corners[np.flatnonzero(own)[0], 0]]
    others = vertices[corners[~own]]
    if not ((others.min(axis=(0, 1)) < probe).all() and (others.max(axis=(0, 1)) > probe).all()):
        return False
    return abs(float(solid_angles(others, probe) @ turn[~own])) > 0.5
