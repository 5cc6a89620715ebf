"""Surfaces the geometry is tested on, as (vertices, faces)."""

from __future__ import annotations

import numpy as np
import trimesh

from dryfit.geometry.twin.twin import Twin

Mesh = tuple[np.ndarray, np.ndarray]


def sphere(subdivisions: int = 3, radius: float = 90.0) -> Mesh:
    mesh = trimesh.creation.icosphere(subdivisions=subdivisions, radius=radius)
    return np.array(mesh.vertices), np.array(mesh.faces)


def box(*extents: float) -> Mesh:
    mesh = trimesh.creation.box(extents or (40.0, 60.0, 80.0))
    return np.array(mesh.vertices), np.array(mesh.faces)


def torus(major: float = 60.0, minor: float = 20.0) -> Mesh:
    mesh = trimesh.creation.torus(major, minor, major_sections=32, minor_sections=16)
    return np.array(mesh.vertices), np.array(mesh.faces)


def cap(share: float, subdivisions: int = 4, radius: float = 90.0) -> Mesh:
    """The top of a sphere by share of its area."""
    vertices, faces = sphere(subdivisions, radius)
    keep = vertices[faces].mean(axis=1)[:, 2] > radius * (1 - 2 * share)
    return vertices, faces[keep]


def wedge(degrees: float = 5.0, length: float = 50.0, width: float = 40.0) -> Mesh:
    """A blade along y whose tip is at x = 0."""
    half = length * np.tan(np.radians(degrees / 2))
    corners = [[0, y, 0] for y in (0, width)] + [[length, y, z] for z in (-half, half) for y in (0, width)]
    mesh = trimesh.convex.convex_hull(np.array(corners, float))
    mesh.fix_normals()
    return np.array(mesh.vertices), np.array(mesh.faces)


def unweld(mesh: Mesh) -> Mesh:
    vertices, faces = mesh
    return vertices[faces].reshape(-1, 3), np.arange(3 * len(faces)).reshape(-1, 3)


def flip(mesh: Mesh, share: float, seed: int = 0) -> Mesh:
    vertices, faces = mesh
    faces = faces.copy()
    some = np.random.default_rng(seed).choice(len(faces), max(1, int(share * len(faces))), replace=False)
    faces[some] = faces[some][:, ::-1]
    return vertices, faces


def drop(mesh: Mesh, share: float, seed: int = 0) -> Mesh:
    vertices, faces = mesh
    keep = np.random.default_rng(seed).random(len(faces)) >= share
    return vertices, faces[keep]


def join(*meshes: Mesh) -> Mesh:
    vertices, faces, offset = [], [], 0
    for v, f in meshes:
        vertices.append(v)
        faces.append(f + offset)
        offset += len(v)
    return np.concatenate(vertices), np.concatenate(faces)


def subdivide(mesh: Mesh, times: int) -> Mesh:
    vertices, faces = mesh
    for _ in range(times):
        vertices, faces = trimesh.remesh.subdivide(vertices, faces)
    return vertices, faces


def with_slivers(mesh: Mesh) -> Mesh:
    """Add faces without an area: a repeated corner, three corners in line."""
    vertices, faces = mesh
    a, b, c = faces[0]
    middle = (vertices[a] + vertices[b]) / 2
    vertices = np.vstack([vertices, middle])
    new = len(vertices) - 1
    split = [[a, new, c], [new, b, c]]
    return vertices, np.vstack([faces[1:], split, [[a, b, new], [a, a, b], [c, c, c]]])


def near(mesh: Mesh, count: int, spread: float, seed: int = 0) -> np.ndarray:
    """Points scattered about a surface."""
    rng = np.random.default_rng(seed)
    vertices, faces = mesh
    corners = vertices[faces[rng.integers(0, len(faces), count)]]
    weights = rng.dirichlet([1, 1, 1], count)
    return np.einsum("ki,kij->kj", weights, corners) + rng.normal(size=(count, 3)) * spread


def within(mesh: Mesh, points: np.ndarray) -> np.ndarray:
    """Whether points lie in a convex mesh: below the plane of every face."""
    corners = mesh[0][mesh[1]]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    heights = np.einsum("ij,ij->i", normals, corners[:, 0])
    return np.concatenate([(part @ normals.T < heights).all(axis=1) for part in np.array_split(points, 20)])


def within_torus(mesh: Mesh, points: np.ndarray) -> np.ndarray:
    """Whether points lie in a closed mesh, by its exact winding number (slow)."""
    vertices, faces = mesh
    tree = Twin().tree(np.asarray(vertices, float), np.asarray(faces, np.int32))
    return np.abs(tree.winding(points, np.ones(len(faces), np.int8))) > 0.5


def turning(seed: int = 0) -> np.ndarray:
    """A rotation matrix."""
    return trimesh.transformations.random_rotation_matrix(np.random.default_rng(seed).random(3))[:3, :3]
