"""Faces in groups: every question is asked of every face that bounding spheres cannot rule out.

Faces are grouped by place first, so a head scan is still answered in seconds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..areas import solid_angles
from ..checked_arrays import Flags, Floats, Ints, Signs
from ..engine import Nearest, RayHits, Tree
from ..rows import dot_rows, unit_rows
from .triangles import closest_on_triangle, ray_hits_triangle, triangles_cross

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
