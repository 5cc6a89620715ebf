"""Shapes with known sizes, and pieces worn on them."""

import numpy as np

from dryfit.model.snapshot import Part, Snapshot

RADIUS_MM = 100.0


def icosphere(level=5, radius_mm=RADIUS_MM):
    """A sphere of 20 * 4**level triangles; chord error is about 0.4 * (edge / 2)**2 / radius."""
    golden = (1 + 5**0.5) / 2
    vertices = np.array(
        [[-1, golden, 0], [1, golden, 0], [-1, -golden, 0], [1, -golden, 0], [0, -1, golden], [0, 1, golden],
         [0, -1, -golden], [0, 1, -golden], [golden, 0, -1], [golden, 0, 1], [-golden, 0, -1], [-golden, 0, 1]], float
    )  # fmt: skip
    faces = np.array(
        [[0, 11, 5], [0, 5, 1], [0, 1, 7], [0, 7, 10], [0, 10, 11], [1, 5, 9], [5, 11, 4], [11, 10, 2], [10, 7, 6],
         [7, 1, 8], [3, 9, 4], [3, 4, 2], [3, 2, 6], [3, 6, 8], [3, 8, 9], [4, 9, 5], [2, 4, 11], [6, 2, 10], [8, 6, 7],
         [9, 8, 1]]
    )  # fmt: skip
    for _ in range(level):
        vertices, faces = _halved(vertices, faces)
    return radius_mm * vertices / np.linalg.norm(vertices, axis=1, keepdims=True), faces


def _halved(vertices, faces):
    ends = np.sort(np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
    edges, place = np.unique(ends, axis=0, return_inverse=True)
    middles = vertices[edges].mean(axis=1)
    middles *= np.linalg.norm(vertices[edges[:, :1]][:, 0], axis=1, keepdims=True) / np.linalg.norm(
        middles, axis=1, keepdims=True
    )
    ab, bc, ca = place.reshape(-1, 3).T + len(vertices)
    a, b, c = faces.T
    parts = [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]
    return np.concatenate([vertices, middles]), np.concatenate([np.stack(part, axis=1) for part in parts])


def torus(major_mm=60.0, minor_mm=20.0, around=256, across=128):
    """A closed torus about the z axis, facing outward."""
    u = np.arange(around) * 2 * np.pi / around
    v = np.arange(across) * 2 * np.pi / across
    u, v = (angle.ravel() for angle in np.meshgrid(u, v, indexing="ij"))
    out = major_mm + minor_mm * np.cos(v)
    vertices = np.stack([out * np.cos(u), out * np.sin(u), minor_mm * np.sin(v)], axis=1)
    i, j = (index.ravel() for index in np.meshgrid(np.arange(around), np.arange(across), indexing="ij"))
    at = lambda i, j: (i % around) * across + j % across  # noqa: E731
    a, b, c, d = at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)
    return vertices, np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])


def sheet(width_mm=100.0, steps=50, height=lambda x, y: 0.0 * x):
    """A square height field about the origin, looking up (+z)."""
    line = np.linspace(-width_mm / 2, width_mm / 2, steps + 1)
    x, y = (grid.ravel() for grid in np.meshgrid(line, line, indexing="ij"))
    i, j = (grid.ravel() for grid in np.meshgrid(np.arange(steps), np.arange(steps), indexing="ij"))
    a = i * (steps + 1) + j
    b, c, d = a + steps + 1, a + steps + 2, a + 1
    faces = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    return np.stack([x, y, height(x, y) + 0.0 * x], axis=1), faces


def slab(vertices, faces, thickness_mm, lift_mm=0.0):
    """A closed shell: a sheet raised by a thickness ``(n,)``, its inner face ``lift_mm`` over the sheet, and walls."""
    count = len(vertices)
    up = np.array([0.0, 0.0, 1.0])
    top = vertices + (lift_mm + thickness_mm)[:, None] * up
    start, end = open_edges(faces).T
    walls = np.concatenate([np.stack([end, start, start + count], 1), np.stack([end, start + count, end + count], 1)])
    return np.concatenate([top, vertices + lift_mm * up]), np.concatenate([faces, faces[:, ::-1] + count, walls])


def open_edges(faces):
    """Directed border edges, found the slow way."""
    directed = np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2).tolist()
    present = {tuple(edge) for edge in directed}
    return np.array([edge for edge in directed if (edge[1], edge[0]) not in present])


def cap(level=5, half_angle_deg=30.0, thickness_mm=lambda arc_mm: 0.1 * arc_mm):
    """A piece on the sphere's top; ``thickness_mm`` takes the distance from the rim along the sphere.

    Returns vertices, faces and each vertex's polar angle (radians).
    """
    vertices, faces = icosphere(level)
    polar = np.arccos(np.clip(vertices[:, 2] / RADIUS_MM, -1, 1))
    kept = faces[(polar[faces] < np.radians(half_angle_deg)).all(axis=1)]
    used, faces = np.unique(kept, return_inverse=True)
    polar = polar[used]
    arc_mm = (np.radians(half_angle_deg) - polar) * RADIUS_MM
    raised = vertices[used] * (1 + thickness_mm(arc_mm) / RADIUS_MM)[:, None]
    return raised, faces.reshape(-1, 3), polar


def worn(base, piece, **more):
    """A snapshot of one appliance on a base; each is (vertices, faces)."""
    parts = (Part("Scan", "base", *base), Part("Piece", "appliance", *piece))
    return Snapshot("test", parts=parts, **more)
