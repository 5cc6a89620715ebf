"""All of the kernel's questions, answered in numpy."""

from __future__ import annotations

import numpy as np

from ..checked_arrays import Bytes, Flags, Floats, Ints, Signs
from ..engine import BoundPlaces, Nearest, RestSkin, WeldedSkin
from ..rows import cross_rows, dot_rows, row_norms, unit_rows
from .march import march
from .riding import carry
from .tree import TwinTree


class Twin:
    """All of the kernel's functions in numpy."""

    name = "numpy twin"

    def tree(self, vertices: Floats, faces: Ints) -> TwinTree:
        """Arrange faces in space."""
        return TwinTree(vertices, faces)

    def weld(self, vertices: Floats) -> Ints:
        """Return for each vertex the first vertex at the same position."""
        if not len(vertices):
            return np.zeros(0, np.int32)
        _, first, which = np.unique(vertices + 0.0, axis=0, return_index=True, return_inverse=True)
        return first[which.reshape(-1)].astype(np.int32)

    def neighbours(self, faces: Ints, vertex_count: int) -> Ints:
        """Return (m, 3) sides across each side."""
        after = np.roll(faces, -1, axis=1)
        low, high = np.minimum(faces, after).reshape(-1), np.maximum(faces, after).reshape(-1)
        collapsed = np.repeat((faces == after).any(axis=1), 3)
        neighbour = np.where(collapsed, -3, -1).astype(np.int32)
        side = np.flatnonzero(~collapsed)
        side = side[np.lexsort((high[side], low[side]))]
        start = np.flatnonzero(np.diff(low[side], prepend=-1) | np.diff(high[side], prepend=-1))
        count = np.diff(start, append=len(side))
        pair = start[count == 2]
        neighbour[side[pair]], neighbour[side[pair + 1]] = side[pair + 1], side[pair]
        neighbour[side[np.repeat(count > 2, count)]] = -2
        return neighbour.reshape(-1, 3)

    def orient(self, faces: Ints, neighbour: Ints) -> tuple[Ints, Signs, Bytes]:
        """Return piece (m,), turn (m,), seam (pieces,)."""
        piece, turn = np.full(len(faces), -1, np.int32), np.ones(len(faces), np.int8)
        seams: list[int] = []
        first, across = faces.tolist(), neighbour.tolist()
        for seed in range(len(faces)):
            if piece[seed] >= 0:
                continue
            piece[seed], waiting, seam = len(seams), [seed], 0
            for face in waiting:
                for side in range(3):
                    other, its_side = divmod(across[face][side], 3)
                    if across[face][side] < 0:
                        continue
                    wanted = -turn[face] if first[face][side] == first[other][its_side] else turn[face]
                    if piece[other] < 0:
                        piece[other], turn[other] = len(seams), wanted
                        waiting.append(other)
                    elif turn[other] != wanted:
                        seam = 1
            seams.append(seam)
        return piece, turn, np.array(seams, np.uint8)

    def vertex_normals(self, vertices: Floats, faces: Ints, turn: Signs) -> Floats:
        """Return (n, 3) angle-weighted normals, not of unit length."""
        normals, p = np.zeros((len(vertices), 3)), vertices[faces]
        n = unit_rows(cross_rows(p[:, 1] - p[:, 0], p[:, 2] - p[:, 0])) * turn[:, None]
        for i in range(3):
            e, g = p[:, (i + 1) % 3] - p[:, i], p[:, (i + 2) % 3] - p[:, i]
            angle = np.arctan2(np.linalg.norm(cross_rows(e, g), axis=1), dot_rows(e, g))
            np.add.at(normals, faces[:, i], angle[:, None] * n)
        return normals

    def sides(self, skin: WeldedSkin, points: Floats, near: Nearest, slant: float, touch: float) -> Signs:
        """Return 1 outside, -1 inside, 0 on the surface, 2 beyond an open border, 3 undecided."""
        away = points - near.point
        far = np.linalg.norm(away, axis=1)
        normal, outward = _feature_normals(skin, near)
        height = dot_rows(away, normal)
        doubt = ~normal.any(axis=1) | (np.abs(height) < 1e-9 * far)
        side = np.where(doubt, 3, np.where(height > 0, 1, -1))
        side = np.where(dot_rows(away, outward) > slant * far + touch, 2, side)
        return np.where(far == 0, 0, side).astype(np.int8)

    def march(
        self, vertices: Floats, faces: Ints, neighbour: Ints, sources: Ints, start: Floats, limit: float
    ) -> tuple[Floats, Ints]:
        """Return distance (n,) and the index into sources (n,)."""
        return march(vertices, faces, neighbour, sources, start, limit)

    def carry(self, skin: RestSkin, bound: BoundPlaces, vertices: Floats) -> tuple[Floats, Flags]:
        """Return points (k, 3), and whose turn was not found (k,)."""
        return carry(skin, bound, vertices)

    def lay_flat(self, vertices: Floats, faces: Ints) -> tuple[Floats, Floats, Floats]:
        """Return the first edge's length, and the third corner along and above it, (m,) each."""
        start = vertices[faces[:, 0]]
        edge, other = vertices[faces[:, 1]] - start, vertices[faces[:, 2]] - start
        length = row_norms(edge)
        safe = np.where(length > 0.0, length, 1.0)
        along = dot_rows(edge, other) / safe
        return length, along, row_norms(other - edge * (along / safe)[:, None])


def _feature_normals(skin: WeldedSkin, near: Nearest) -> tuple[Floats, Floats]:
    """Return the unit normal of the closest feature (zero if there is none), and the way out of an open border."""
    corners = skin.vertices[skin.faces]
    normals = unit_rows(cross_rows(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])) * skin.turn[:, None]
    normal, outward = normals[near.face], np.zeros((len(near.face), 3))
    row = np.flatnonzero(near.feature >= 4)
    vertex = skin.faces[near.face[row], near.feature[row] - 4]
    normal[row], outward[row] = unit_rows(skin.vertex_normals[vertex]), skin.outward[vertex]
    row = np.flatnonzero((near.feature >= 1) & (near.feature < 4))
    side = near.feature[row] - 1
    across = skin.neighbour[near.face[row], side]
    for at, other, edge in zip(row, across, side, strict=True):
        if other >= 0:
            both = normal[at].any() and normals[other // 3].any()
            normal[at] = unit_rows((normal[at] + normals[other // 3])[None])[0] if both else 0
        elif other == -1:
            start, end = skin.faces[near.face[at], [edge, (edge + 1) % 3]]
            along = skin.vertices[end] - skin.vertices[start]
            outward[at] = unit_rows(cross_rows(along, normal[at])[None])[0] * skin.turn[near.face[at]]
        else:
            normal[at] = 0
    return normal, outward
