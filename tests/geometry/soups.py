"""Triangle soups that no modeller makes: faces on faces, many at one edge, grids whose planes meet exactly.

And what makes an answer about one of them a tie: two readings that are equally right, so that rounding picks.
"""

from dataclasses import dataclass

import numpy as np

TOGETHER = 1e-12
"""Distances, heights and crossings closer than this share of the soup's size are a tie."""
EDGE_OF_WINDING = 1e-6
WINDINGS = (0.5, 0.75)
"""Where ``dryfit.geometry.sign`` changes its mind by the winding number."""


@dataclass(frozen=True)
class Soup:
    """Vertices (n, 3), faces (m, 3), points to ask about (k, 3), and a ray's direction from each (k, 3)."""

    vertices: np.ndarray
    faces: np.ndarray
    points: np.ndarray
    along: np.ndarray

    @property
    def size(self):
        return float(np.ptp(self.vertices, axis=0).max()) + float(np.abs(self.vertices).max())


def soup(seed):
    """One soup of two to two dozen faces; the same for the same seed."""
    rng = np.random.default_rng(seed)
    vertices = KINDS[seed % len(KINDS)](rng, int(rng.integers(4, 14)))
    faces = rng.integers(0, len(vertices), (int(rng.integers(2, 24)), 3))
    faces = faces[(faces != np.roll(faces, 1, axis=1)).all(axis=1)]
    faces = faces if len(faces) else np.array([[0, 1, 2]])
    size = np.ptp(vertices, axis=0).max()
    points = np.concatenate(
        [
            vertices.mean(axis=0) + rng.uniform(-1.2, 1.2, (6, 3)) * size,
            np.round(rng.uniform(-1.2, 1.2, (4, 3)) * size),
            vertices[faces[:4]].mean(axis=1) + rng.normal(size=(len(faces[:4]), 3)) * size * 0.05,
        ]
    )
    return Soup(vertices, faces, points, aims(rng, vertices[faces], points))


def aims(rng, corners, points):
    """Directions: along an axis, at a corner, at an edge, into a face."""
    at = corners[rng.integers(len(corners), size=len(points))]
    weights = rng.dirichlet([1.0] * 3, len(points)) * (rng.random((len(points), 3)) < [1.0, 0.7, 0.5])
    weights[:, 0] += 1e-3
    aimed = np.einsum("ki,kij->kj", weights / weights.sum(axis=1, keepdims=True), at) - points
    axis = np.eye(3)[rng.integers(0, 3, len(points))]
    return np.where((rng.random((len(points), 1)) < 0.4) | ~aimed.any(axis=1, keepdims=True), axis, aimed)


KINDS = (
    lambda rng, n: rng.normal(size=(n, 3)) * 10,
    lambda rng, n: rng.integers(-2, 3, (n, 3)).astype(float),
    lambda rng, n: np.round(rng.normal(size=(n, 3)) * 5) * [1, 1, rng.integers(2)] + [0.0, 0, 1],
    lambda rng, n: np.repeat(rng.normal(size=(n, 3)).astype(np.float32).astype(float) * 10, 2, axis=0),
    lambda rng, n: rng.integers(-2, 3, (n, 3)) @ np.linalg.qr(rng.normal(size=(3, 3)))[0] * 7.3 + rng.normal(size=3),
)
"""Loose, on a grid, flat or rounded, every corner twice, and on a grid that lies askew."""


def tied_sign(asked, surface, point):
    """Tell why the side of a point may be read either way, or return nothing where it may not.

    ``surface`` is one engine's. Ties: two places are equally near; two faces over the same corners are; a face without
    an area is nearest, whose sides lie on each other; the faces about the nearest edge or corner cancel; a point in the
    plane of what is nearest; a winding number on the edge of a decision.
    """
    apart = TOGETHER * asked.size
    weights, distance = nearest_places(asked.vertices[asked.faces], point)
    equal = np.flatnonzero(distance <= distance.min() + apart)
    label = surface.repaired.joints.label
    named = [label[asked.faces[row]][weights[row] > 1e-9] for row in equal]
    places = [frozenset(corners.tolist()) for corners in named]
    if len({*places}) > 1:
        return "equally near places"
    if len({frozenset(label[asked.faces[row]].tolist()) for row in equal}) < len(equal):
        return "faces that lie on each other are nearest"
    if without_area(asked)[equal].any():
        return "a face without area is nearest"
    if any(abs(surface.winding_number(point[None])[0] - limit) < EDGE_OF_WINDING for limit in WINDINGS):
        return "winding number on the edge"
    normal = normal_of(asked, surface, equal, named[0])
    if np.linalg.norm(normal) < 1e-9:
        return "normals cancel"
    away = point - weights[equal[0]] @ asked.vertices[asked.faces[equal[0]]]
    if abs(away @ normal) < 1e-8 * np.linalg.norm(away) + apart:
        return "in the plane of what is nearest"
    return ""


def normal_of(asked, surface, rows, corners):
    """The normal of a corner, by angles, or of an edge or a face, the sum of the faces' that meet there, (3,)."""
    if len(corners) == 1:
        return surface.repaired.skin.vertex_normals[corners[0]]
    return (face_normals(asked)[rows] * surface.repaired.turn[rows, None]).sum(axis=0)


def nearest_places(triangles, point):
    """Weights (m, 3) of the nearest place of each triangle (m, 3, 3), and how far it is (m,); nobody's kernel."""
    weights = np.stack([weights_of_nearest(triangle, point) for triangle in triangles])
    return weights, np.linalg.norm(np.einsum("mi,mij->mj", weights, triangles) - point, axis=1)


def weights_of_nearest(triangle, point):
    """The foot on the plane where that is inside, else the nearest place of the three sides."""
    a, b, c = triangle
    normal = np.cross(b - a, c - a)
    turned = np.array([normal @ np.cross(y - x, point - x) for x, y in ((b, c), (c, a), (a, b))])
    if turned.min() > 0:
        return turned / turned.sum()
    sides = [on_side(triangle, side, point) for side in range(3)]
    return min(sides, key=lambda weights: np.linalg.norm(weights @ triangle - point))


def on_side(triangle, side, point):
    start, along = triangle[side], triangle[(side + 1) % 3] - triangle[side]
    share = np.clip((point - start) @ along / max(along @ along, 1e-300), 0, 1)
    weights = np.zeros(3)
    weights[side], weights[(side + 1) % 3] = 1 - share, share
    return weights


def without_area(asked):
    """Faces whose three corners lie in a line, (m,) bool."""
    a, b, c = np.moveaxis(asked.vertices[asked.faces], 1, 0)
    longest = np.maximum(np.linalg.norm(b - a, axis=1), np.linalg.norm(c - a, axis=1))
    return np.linalg.norm(np.cross(b - a, c - a), axis=1) <= TOGETHER * longest * asked.size


def face_normals(asked):
    corners = asked.vertices[asked.faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return normal / np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-300)


def tied_crossing(asked, pair):
    """Tell whether two faces only just cross or only just do not: some corner lies in the other's plane, or an edge
    of one meets an edge of the other."""
    one, other = asked.vertices[asked.faces[list(pair)]]
    scale = TOGETHER * asked.size
    flat = min(np.abs(heights_over(*each)).min() for each in ((one, other), (other, one)))
    return flat < scale or min(line_gap(a, b) for a in edges(one) for b in edges(other)) < scale


def heights_over(triangle, plane):
    normal = np.cross(plane[1] - plane[0], plane[2] - plane[0])
    return (triangle - plane[0]) @ normal / max(np.linalg.norm(normal), 1e-300)


def edges(triangle):
    return [(triangle[i], triangle[(i + 1) % 3]) for i in range(3)]


def line_gap(one, other):
    """Least distance between the lines of two edges."""
    across = np.cross(one[1] - one[0], other[1] - other[0])
    size = np.linalg.norm(across)
    return abs((other[0] - one[0]) @ across) / size if size > 0 else np.inf


def grazing_ray(asked, row, face):
    """Tell whether a ray only just hits a face or only just misses it: through its border, or along its plane, or from
    a point on it."""
    triangle, origin = asked.vertices[asked.faces[face]], asked.points[row]
    along = asked.along[row] / np.linalg.norm(asked.along[row])
    scale = 10 * TOGETHER * asked.size
    passes = min(line_gap((origin, origin + along), edge) for edge in edges(triangle))
    normal = face_normals(asked)[face]
    return passes < scale or abs(normal @ along) < 1e-12 or abs((origin - triangle[0]) @ normal) < scale
