"""One evaluated object as arrays: world-space millimetres, triangles that face outward, marked areas."""

from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np

from ..model.arrays import FloatArray, IntArray
from .blender import BlenderMesh, BlenderObject, Depsgraph

AREA_PREFIX = "dryfit_"
WITH_SURFACE = ("MESH", "CURVE", "SURFACE", "META", "FONT")
"""Blender's types of object that evaluate to a mesh."""
WITHOUT_SURFACE = ("CURVES", "POINTCLOUD", "VOLUME", "GPENCIL", "GREASEPENCIL")
"""Blender's types of object that are seen and have no surface to measure."""


@contextmanager
def evaluated_mesh(item: BlenderObject, depsgraph: Depsgraph) -> Iterator[tuple[BlenderObject, BlenderMesh | None]]:
    """Lend the evaluated object and its mesh, modifiers applied; None where it has no surface at all."""
    evaluated = item.evaluated_get(depsgraph)
    try:
        yield evaluated, evaluated.to_mesh() if item.type in WITH_SURFACE else None
    finally:
        evaluated.to_mesh_clear()


def world_matrix(evaluated: BlenderObject) -> FloatArray:
    """Return the object's world matrix, ``(4, 4)``, Blender units."""
    return np.array(evaluated.matrix_world, dtype=np.float64)


def world_vertices_mm(evaluated: BlenderObject, mesh: BlenderMesh | None, mm_per_unit: float) -> FloatArray:
    """Return the vertices ``(n, 3)``, mm, world space."""
    matrix = world_matrix(evaluated)
    return placed(local_vertices(mesh), matrix) * mm_per_unit


def placed(points: FloatArray, matrix: FloatArray) -> FloatArray:
    """Return points ``(n, 3)`` moved by a matrix ``(4, 4)``, to the last bit the same on every machine.

    A matrix product would leave the order of the sums, and with it the last bit and the fingerprint, to the
    linear algebra library.
    """
    x, y, z = points.T[:, :, None]
    moved: FloatArray = x * matrix[:3, 0] + y * matrix[:3, 1] + z * matrix[:3, 2] + matrix[:3, 3]
    return moved


def local_vertices(mesh: BlenderMesh | None) -> FloatArray:
    """Return the mesh's own vertices ``(n, 3)``, Blender units."""
    if mesh is None or not len(mesh.vertices):
        return np.zeros((0, 3))
    flat = np.empty(len(mesh.vertices) * 3, dtype=np.float32)
    mesh.attributes["position"].data.foreach_get("vector", flat)
    return flat.reshape(-1, 3).astype(np.float64)


def outward_triangles(evaluated: BlenderObject, mesh: BlenderMesh | None) -> IntArray:
    """Return Blender's own triangles ``(m, 3)``, turned over where a negative scale mirrors the object."""
    faces = triangles(mesh)
    return faces[:, ::-1] if is_mirrored(evaluated) else faces


def triangles(mesh: BlenderMesh | None) -> IntArray:
    """Return Blender's own triangles ``(m, 3)`` as the mesh has them."""
    if mesh is None or not len(mesh.polygons):
        return np.zeros((0, 3), dtype=np.int64)
    mesh.calc_loop_triangles()
    flat = np.empty(len(mesh.loop_triangles) * 3, dtype=np.int32)
    mesh.loop_triangles.foreach_get("vertices", flat)
    return flat.reshape(-1, 3).astype(np.int64)


def is_mirrored(evaluated: BlenderObject) -> bool:
    """Tell whether the object's world matrix swaps left and right."""
    return bool(np.linalg.det(world_matrix(evaluated)[:3, :3]) < 0.0)


@dataclass(frozen=True)
class Topology:
    """How many vertices a mesh has, and the vertex of every face corner in face order."""

    vertices: int
    corners: IntArray

    def same_as(self, other: "Topology") -> bool:
        """Tell whether vertices of one can be followed to the other."""
        return self.vertices == other.vertices and np.array_equal(self.corners, other.corners)


def topology(mesh: BlenderMesh | None) -> Topology:
    """Return the mesh's topology; no mesh has an empty one."""
    if mesh is None:
        return Topology(0, np.zeros(0, dtype=np.int64))
    flat = np.empty(len(mesh.loops), dtype=np.int32)
    if len(flat):
        mesh.attributes[".corner_vert"].data.foreach_get("value", flat)
    return Topology(len(mesh.vertices), flat.astype(np.int64))


def areas(item: BlenderObject, mesh: BlenderMesh | None) -> dict[str, FloatArray]:
    """Return the weights ``(n,)`` of every vertex group whose name starts with ``dryfit_``."""
    return group_weights(item, mesh, [group.name for group in item.vertex_groups if group.name.startswith(AREA_PREFIX)])


def group_weights(item: BlenderObject, mesh: BlenderMesh | None, names: Collection[str]) -> dict[str, FloatArray]:
    """Return the weights ``(n,)`` of the object's vertex groups of these names; one it does not have is left out."""
    groups = {group.index: group.name for group in item.vertex_groups if group.name in names}
    if mesh is None or not groups:
        return {}
    weights = {name: np.zeros(len(mesh.vertices)) for name in groups.values()}
    for vertex in mesh.vertices:
        for entry in vertex.groups:
            if entry.group in groups:
                weights[groups[entry.group]][vertex.index] = entry.weight
    return weights
