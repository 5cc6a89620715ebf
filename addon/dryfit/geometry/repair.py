"""What a mesh would be if it had been built carefully: welded, without doubles, turned one way, outside out.

Only answers change, never the caller's arrays: the surface keeps its faces and numbers, and this says how to read them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from .arrays import Flags, Floats, Ints, Signs
from .engine import Engine, Skin

NEARLY_CLOSED = 0.25
"""A part whose vector area is less than this share of its area encloses a volume well enough to know its outside."""

BORDER, TANGLED, PASSED_OVER = -1, -2, -3
"""Entries of ``neighbour`` that are not sides."""


@dataclass(frozen=True)
class Repair:
    """How to read a mesh.

    Attributes
    ----------
    label : (n,) int32
        First vertex at the position of each vertex.
    corners : (m, 3) int32
        Faces over labels.
    neighbour : (m, 3) int32
        ``3 g + e``: side e of face g lies across; -1 open border; -2 three or more faces meet; -3 no area to speak of.
    piece : (m,) int32
        Parts joined over sides.
    turn : (m,) int8
        -1 where the face must be read backwards for the surface to face out.
    doubled : (m,) bool
        Faces over the same corners as an earlier face.
    seam : bool
        Some part cannot be turned consistently (a Moebius band).
    inside_out : bool
        Most of the area had to be turned because it faced inward.
    """

    vertices: Floats
    label: Ints
    corners: Ints
    neighbour: Ints
    piece: Ints
    turn: Signs
    doubled: Flags
    seam: bool
    inside_out: bool
    engine: Engine

    @property
    def closed(self) -> bool:
        """Whether no side is an open border."""
        return not bool((self.neighbour == BORDER).any())

    @property
    def tangled(self) -> bool:
        """Whether three or more faces meet at some side."""
        return bool((self.neighbour == TANGLED).any())

    @property
    def piece_count(self) -> int:
        """Number of parts with an area, joined over sides."""
        whole = self.neighbour[:, 0] != PASSED_OVER
        return len(np.unique(self.piece[whole]))

    @cached_property
    def weight(self) -> Signs:
        """Turn, zero for doubled faces: what each face counts in a winding number."""
        return np.where(self.doubled, 0, self.turn).astype(np.int8)

    @cached_property
    def skin(self) -> Skin:
        """Arrays the sign of a distance is read from."""
        normals = self.engine.vertex_normals(self.vertices, self.corners, self.weight)
        outward = border_directions(self.vertices, self.corners, self.neighbour)
        return Skin(self.vertices, self.corners, self.neighbour, self.turn, normals, outward)

    @cached_property
    def on_border(self) -> Flags:
        """Whether each label lies on an open border, (n,)."""
        marked = np.zeros(len(self.label), bool)
        face, side = np.nonzero(self.neighbour == BORDER)
        marked[self.corners[face, side]] = marked[self.corners[face, (side + 1) % 3]] = True
        return marked


def area_vectors(vertices: Floats, faces: Ints) -> Floats:
    """Return (m, 3) normals whose length is the area, mm^2."""
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    return np.cross(b - a, c - a) / 2


def border_directions(vertices: Floats, corners: Ints, neighbour: Ints) -> Floats:
    """Return (n, 3) unit directions that leave the surface at vertices of its open border, zero elsewhere."""
    outward = np.zeros((len(vertices), 3))
    face, side = np.nonzero(neighbour == BORDER)
    start, end = corners[face, side], corners[face, (side + 1) % 3]
    away = unit_rows(np.cross(vertices[end] - vertices[start], area_vectors(vertices, corners[face])))
    np.add.at(outward, start, away)
    np.add.at(outward, end, away)
    return unit_rows(outward)


def unit_rows(rows: Floats) -> Floats:
    """Return rows scaled to length 1; zero rows stay zero."""
    length = np.linalg.norm(rows, axis=1, keepdims=True)
    return np.divide(rows, length, out=np.zeros_like(rows), where=length > 0)


def repair(vertices: Floats, faces: Ints, engine: Engine) -> Repair:
    """Weld by position, set doubled faces aside, turn each part by the majority of its area, and outside out.

    A part that encloses a volume (closed, or open by a hole small against it, see ``NEARLY_CLOSED``) is turned to
    face out, unless it lies inside another part: then it is that part's inner wall and faces in. A part too open to
    have an outside keeps the way most of its area faces.
    """
    label = engine.weld(vertices)
    corners = np.ascontiguousarray(label[faces])
    neighbour = engine.neighbours(corners, len(vertices))
    doubled = np.zeros(len(faces), bool)
    if (neighbour == TANGLED).any():
        corners, neighbour, doubled = _set_doubles_aside(corners, neighbour, len(vertices), engine)
    piece, turn, seam = engine.orient(corners, neighbour)
    vectors = area_vectors(vertices, corners)
    areas = np.linalg.norm(vectors, axis=1)
    backwards = np.bincount(piece, areas * turn) < 0
    turn = np.where(backwards[piece], -turn, turn).astype(np.int8)
    inward = _facing_in(vertices, corners, vectors, areas, piece, turn)
    turn = np.where(inward[piece], -turn, turn).astype(np.int8)
    turned_out = float(areas[inward[piece]].sum()) > float(areas.sum()) / 2
    return Repair(vertices, label, corners, neighbour, piece, turn, doubled, bool(seam.any()), turned_out, engine)


def _set_doubles_aside(corners: Ints, neighbour: Ints, count: int, engine: Engine) -> tuple[Ints, Ints, Flags]:
    """Pass over faces that repeat an earlier one, and let them share its neighbours."""
    doubled = np.zeros(len(corners), bool)
    suspect = np.flatnonzero((neighbour == TANGLED).any(axis=1))
    keys, first, which = np.unique(np.sort(corners[suspect], axis=1), axis=0, return_index=True, return_inverse=True)
    original = suspect[first[which.reshape(-1)]]
    double = suspect[suspect != original]
    if not len(double):
        return corners, neighbour, doubled
    doubled[double] = True
    original = original[suspect != original]
    blanked = corners.copy()
    blanked[double] = blanked[double, :1]
    neighbour = engine.neighbours(blanked, count)
    # The doubles get their own turn from the original's corners, so both must name corners in one order.
    reordered = corners.copy()
    reordered[double] = corners[original]
    same_order = _rotation(corners[original], corners[double])
    neighbour[double] = np.take_along_axis(neighbour[original], same_order, axis=1)
    return corners, neighbour, doubled


def _rotation(originals: Ints, doubles: Ints) -> npt.NDArray[np.intp]:
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
    middles = vertices[corners].mean(axis=1)
    total = np.stack([np.bincount(piece, turned[:, i], pieces) for i in range(3)], axis=1)
    centre = np.stack([np.bincount(piece, areas * middles[:, i], pieces) for i in range(3)], axis=1)
    centre /= np.where(area > 0, area, 1)[:, None]
    volume = np.bincount(piece, np.einsum("ij,ij->i", middles - centre[piece], turned), pieces) / 3
    inward = (np.linalg.norm(total, axis=1) < NEARLY_CLOSED * area) & (volume < 0)
    if pieces > 1:
        for part in np.flatnonzero(inward & (area > 0)):
            inward[part] = not _lies_within(vertices, corners, turn, piece, int(part))
    return inward


def _lies_within(vertices: Floats, corners: Ints, turn: Signs, piece: Ints, part: int) -> bool:
    """Return whether a part lies inside the others, by their winding number around one of its vertices."""
    own = piece == part
    probe = vertices[corners[np.flatnonzero(own)[0], 0]]
    others = vertices[corners[~own]]
    if not ((others.min(axis=(0, 1)) < probe).all() and (others.max(axis=(0, 1)) > probe).all()):
        return False
    return abs(float(solid_angles(others, probe) @ turn[~own])) > 0.5


def solid_angles(triangles: Floats, point: Floats) -> Floats:
    """Return (m,) signed solid angles of (m, 3, 3) triangles at a point, over 4 pi.

    Van Oosterom & Strackee 1983, https://doi.org/10.1109/TBME.1983.325207
    """
    a, b, c = (triangles[..., i, :] - point for i in range(3))
    x, y, z = (np.linalg.norm(side, axis=-1) for side in (a, b, c))
    above = (a * np.cross(b, c)).sum(axis=-1)
    below = x * y * z + (a * b).sum(axis=-1) * z + (b * c).sum(axis=-1) * x + (c * a).sum(axis=-1) * y
    angle = np.arctan2(above, below) / (2 * np.pi)
    return np.where((above == 0) & (below <= 0), 0.0, angle)
