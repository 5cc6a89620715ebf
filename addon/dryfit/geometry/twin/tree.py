"""The numpy twin of the compiled kernel: slow, obvious, and the judge of it in tests.

Every question is asked of every face that bounding spheres cannot rule out. Faces are grouped by place first, so a
head scan is still answered in seconds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..areas import solid_angles
from ..checked_arrays import Bytes, Flags, Floats, Ints, Signs
from ..engine import Nearest, RayHits, Tree, WeldedSkin
from ..rows import cross_rows, dot_rows, unit_rows
from .march import march

GROUP = 32
"""Faces a bounding sphere covers together."""
ROOM = 2_000_000
"""Pairs looked at together; bounds memory."""

Rows = npt.NDArray[np.intp]


@dataclass(frozen=True)
class Groups:
    """Bounding spheres of single faces and of groups of GROUP faces that lie together."""

    order: Rows
    face_centre: Floats
    face_radius: Floats
    centre: Floats
    radius: Floats

    def members(self, group: Rows) -> Rows:
        """Return the faces of groups, (g, GROUP); the last group repeats its last face."""
        rows = group[:, None] * GROUP + np.arange(GROUP)
        return self.order[np.minimum(rows, len(self.order) - 1)]


def group_faces(triangles: Floats) -> Groups:
    """Group (m, 3, 3) triangles along a Morton curve."""
    centre = triangles.mean(axis=1)
    radius = np.linalg.norm(triangles - centre[:, None], axis=2).max(axis=1)
    low, span = centre.min(axis=0), np.ptp(centre, axis=0).max() or 1.0
    cell = ((centre - low) / span * 1023).astype(np.uint64)
    key = np.zeros(len(cell), np.uint64)
    for bit in range(10):
        for axis in range(3):
            key |= (cell[:, axis] >> np.uint64(bit) & np.uint64(1)) << np.uint64(3 * bit + axis)
    order = np.argsort(key, kind="stable")
    count = -(-len(order) // GROUP)
    rows = order[np.minimum(np.arange(count * GROUP), len(order) - 1)].reshape(count, GROUP)
    middle = centre[rows].mean(axis=1)
    reach = (np.linalg.norm(centre[rows] - middle[:, None], axis=2) + radius[rows]).max(axis=1)
    return Groups(order, centre, radius * (1 + 1e-9), middle, reach * (1 + 1e-9))


def closest_on_segment(a: Floats, b: Floats, p: Floats) -> tuple[Floats, Floats]:
    """Return squared distances and parameters in [0, 1] of the closest points of segments to points."""
    ab = b - a
    length2 = dot_rows(ab, ab)
    s = np.divide(dot_rows(p - a, ab), length2, out=np.zeros_like(length2), where=length2 > 0).clip(0, 1)
    gap = np.where((s < 1)[:, None], a + s[:, None] * ab, b) - p
    return dot_rows(gap, gap), s


def closest_on_triangle(triangles: Floats, p: Floats) -> tuple[Floats, Floats, Bytes]:
    """Return squared distance, weights, and feature of the closest point of each (k, 3, 3) triangle to each point."""
    k = np.arange(len(p))
    squared, weights, feature = np.full(len(p), np.inf), np.zeros((len(p), 3)), np.zeros(len(p), np.uint8)
    for side in range(3):
        after = (side + 1) % 3
        found, s = closest_on_segment(triangles[:, side], triangles[:, after], p)
        better = found < squared
        row = k[better]
        squared[row], weights[row] = found[better], 0
        weights[row, side], weights[row, after] = 1 - s[better], s[better]
        kind = np.where(s <= 0, 4 + side, np.where(s >= 1, 4 + after, 1 + side))
        feature[row] = kind[better]
    a, b, c = (triangles[:, i] - p for i in range(3))
    n = cross_rows(b - a, c - a)
    n2 = dot_rows(n, n)
    u, v = dot_rows(n, cross_rows(b, c - b)), dot_rows(n, cross_rows(c, a - c))
    flat = n2 > 1e-24 * dot_rows(b - a, b - a) * dot_rows(c - a, c - a)
    row = k[(u > 0) & (v > 0) & (n2 - u - v > 0) & flat]
    u, v = u[row] / n2[row], v[row] / n2[row]
    inner = np.stack([u, v, 1 - u - v], axis=1)
    q = np.einsum("ki,kij->kj", inner, triangles[row]) - p[row]
    squared[row], weights[row], feature[row] = dot_rows(q, q), inner, 0
    return squared, weights, feature


def ray_hits_triangle(triangles: Floats, origin: Floats, along: Floats, limit: Floats) -> tuple[Floats, Floats]:
    """Return distance (inf for none) and weights of the hit of unit rays with (k, 3, 3) triangles.

    Corners are sheared so that the ray is an axis (Woop, Benthin & Wald 2013): nothing slips through edges.
    """
    k = np.arange(len(along))
    longest = np.abs(along).argmax(axis=1)
    axes = [(longest + 1) % 3, (longest + 2) % 3, longest]
    x, y, z = ((triangles - origin[:, None])[k, :, axis] for axis in axes)
    dx, dy, dz = (along[k, axis] for axis in axes)
    x, y = x - (dx / dz)[:, None] * z, y - (dy / dz)[:, None] * z
    after, last = [1, 2, 0], [2, 0, 1]
    weights = x[:, after] * y[:, last] - y[:, after] * x[:, last]
    total = weights.sum(axis=1)
    same = (weights >= 0).all(axis=1) | (weights <= 0).all(axis=1)
    weights = weights / np.where(same & (total != 0), total, np.nan)[:, None]
    distance = dot_rows(weights, z) / dz
    return np.where((distance >= 0) & (distance <= limit), distance, np.inf), weights


def _height_over(p: Floats, a: Floats, b: Floats, c: Floats) -> Floats:
    """Return heights over planes times twice the area; 0 where rounding could have made them up."""
    ab, ac, ap = b - a, c - a, p - a
    height = dot_rows(cross_rows(ab, ac), ap)
    return np.where(height**2 > 1e-28 * dot_rows(ab, ab) * dot_rows(ac, ac) * dot_rows(ap, ap), height, 0.0)


def pierces(p: Floats, q: Floats, triangles: Floats) -> Flags:
    """Return whether segments pass through triangles: ends strictly on either side, the border included."""
    a, b, c = (triangles[:, i] for i in range(3))
    above, below = _height_over(p, a, b, c), _height_over(q, a, b, c)
    apart = ((above > 0) & (below < 0)) | ((above < 0) & (below > 0))
    u, v, w = (dot_rows(q - p, cross_rows(x - p, y - p)) for x, y in ((b, c), (c, a), (a, b)))
    inside = ((u >= 0) & (v >= 0) & (w >= 0)) | ((u <= 0) & (v <= 0) & (w <= 0))
    return np.asarray(apart & inside)


def _straddles(a: Floats, b: Floats) -> Flags:
    """Return whether triangles have corners strictly on both sides of the planes of others."""
    heights = np.stack([_height_over(a[:, i], b[:, 0], b[:, 1], b[:, 2]) for i in range(3)])
    return np.asarray((heights > 0).any(axis=0) & (heights < 0).any(axis=0))


def triangles_cross(a: Floats, b: Floats) -> Flags:
    """Return whether pairs of (k, 3, 3) triangles pass through each other."""
    found, both = np.zeros(len(a), bool), _straddles(a, b) & _straddles(b, a)
    for i in range(3):
        found |= pierces(a[:, i], a[:, (i + 1) % 3], b) | pierces(b[:, i], b[:, (i + 1) % 3], a)
    return found & both


def _first_of_each(row: Rows, count: int, key: Floats, face: Rows) -> Rows:
    """Return for each of count rows the entry with the smallest key, then face; -1 where a row has none."""
    order = np.lexsort((face, key, row))
    first = np.ones(len(order), bool)
    first[1:] = row[order][1:] != row[order][:-1]
    best = np.full(count, -1, np.intp)
    best[row[order][first]] = order[first]
    return best


class TwinTree:
    """Faces in groups."""

    def __init__(self, vertices: Floats, faces: Ints) -> None:
        self.vertices, self.faces = vertices, faces
        self.refit(vertices)

    def refit(self, vertices: Floats) -> None:
        """Move the vertices."""
        self.vertices = vertices
        self.triangles = vertices[self.faces]
        self.groups = group_faces(self.triangles)

    def _chunks(self, count: int) -> Iterator[slice]:
        step = max(1, ROOM // max(len(self.groups.radius), 8 * GROUP))
        return (slice(start, min(start + step, count)) for start in range(0, count, step))

    def closest(self, points: Floats) -> Nearest:
        """Return the closest point of any face; the lowest face number among equals."""
        k = len(points)
        near = Nearest(np.empty(k), np.empty(k, np.int32), np.empty((k, 3)), np.empty((k, 3)), np.empty(k, np.uint8))
        for here in self._chunks(k):
            self._closest(points[here], near, here)
        near.point[:] = np.einsum("ki,kij->kj", near.weights, self.triangles[near.face])
        return near

    def _closest(self, p: Floats, near: Nearest, here: slice) -> None:
        row, face = self._candidates(p)
        squared, weights, feature = closest_on_triangle(self.triangles[face], p[row])
        best = _first_of_each(row, len(p), squared, face)
        near.distance[here], near.face[here] = np.sqrt(squared[best]), face[best]
        near.weights[here], near.feature[here] = weights[best], feature[best]

    def _candidates(self, p: Floats) -> tuple[Rows, Rows]:
        """Return (row, face) pairs that may hold the closest point."""
        groups = self.groups
        away = np.linalg.norm(p[:, None] - groups.centre, axis=2)
        likely = groups.members((away + groups.radius).argmin(axis=1))
        bound = np.linalg.norm(self.triangles[likely, 0] - p[:, None], axis=2).min(axis=1)
        row, group = np.nonzero(away - groups.radius <= (bound * (1 + 1e-9))[:, None])
        face, row = groups.members(group).reshape(-1), np.repeat(row, GROUP)
        gap = np.linalg.norm(groups.face_centre[face] - p[row], axis=1)
        reach = np.full(len(p), np.inf)
        np.minimum.at(reach, row, gap + groups.face_radius[face])
        keep = gap - groups.face_radius[face] <= reach[row] * (1 + 1e-9)
        return row[keep], face[keep]

    def rays(self, origins: Floats, directions: Floats, limits: Floats) -> RayHits:
        """Return the first hit of each ray within its limit; both sides of a face count."""
        k, along = len(origins), unit_rows(directions / np.abs(directions).max(axis=1, keepdims=True))
        hits = RayHits(np.full(k, np.inf), np.full(k, -1, np.int32), np.zeros((k, 3)))
        for here in self._chunks(k):
            row, face = self._ray_candidates(origins[here], along[here])
            distance, weights = ray_hits_triangle(
                self.triangles[face], origins[here][row], along[here][row], limits[here][row]
            )
            hit = np.flatnonzero(np.isfinite(distance))
            best = _first_of_each(row[hit], len(origins[here]), distance[hit], face[hit])
            found, best = np.flatnonzero(best >= 0), hit[best[best >= 0]]
            at = here.start + found
            hits.distance[at], hits.face[at], hits.weights[at] = distance[best], face[best], weights[best]
        return hits

    def _ray_candidates(self, origin: Floats, along: Floats) -> tuple[Rows, Rows]:
        """Return (row, face) pairs whose bounding sphere the ray meets."""
        groups = self.groups
        row, group = np.nonzero(_meets(origin[:, None], along[:, None], groups.centre, groups.radius))
        face, row = groups.members(group).reshape(-1), np.repeat(row, GROUP)
        keep = _meets(origin[row], along[row], groups.face_centre[face], groups.face_radius[face])
        return row[keep], face[keep]

    def blocked(self, origins: Floats, directions: Floats, limits: Floats) -> Ints:
        """Return for each ray some face it hits within its limit, -1 for none."""
        return self.rays(origins, directions, limits).face

    def crossings(self, other: Tree, label: Ints | None) -> Ints:
        """Return (p, 2) crossing faces; with label this tree's own, sharing no label."""
        assert isinstance(other, TwinTree)
        pairs = [np.empty((0, 2), np.intp)]
        low, high = other.triangles.min(axis=1), other.triangles.max(axis=1)
        step = max(1, ROOM // len(low))
        for start in range(0, len(self.faces), step):
            some = self.triangles[start : start + step]
            overlap = (some.min(axis=1)[:, None] <= high) & (some.max(axis=1)[:, None] >= low)
            row, face = np.nonzero(overlap.all(axis=2))
            row = row + start
            if label is not None:
                mine, theirs = label[self.faces[row]], label[self.faces[face]]
                keep = (face > row) & ~(mine[:, :, None] == theirs[:, None, :]).any(axis=(1, 2))
                row, face = row[keep], face[keep]
            found = triangles_cross(self.triangles[row], other.triangles[face])
            pairs.append(np.stack([row[found], face[found]], axis=1))
        return np.concatenate(pairs).astype(np.int32)

    def winding(self, points: Floats, turn: Signs) -> Floats:
        """Return generalized winding numbers with faces weighted by turn, exactly."""
        winding = np.empty(len(points))
        step = max(1, ROOM // 4 // len(self.faces))
        for start in range(0, len(points), step):
            some = points[start : start + step, None, None, :]
            winding[start : start + step] = solid_angles(self.triangles - some, np.zeros(3)) @ turn.astype(float)
        return winding


def _meets(origin: Floats, along: Floats, centre: Floats, radius: Floats) -> Flags:
    """Return whether rays meet spheres."""
    to = centre - origin
    ahead = np.maximum(dot_rows(to, along), 0)
    gap = to - ahead[..., None] * along
    return np.asarray(dot_rows(gap, gap) <= (radius * (1 + 1e-9) + 1e-12 * np.abs(ahead)) ** 2)


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
