"""The surface of an object as it is shown now: vertices and triangles in its own space, Blender units."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from ..model.arrays import FloatArray, IntArray


@dataclass(frozen=True)
class Shown:
    """Vertices ``(n, 3)`` float32 in object space, and triangles ``(m, 3)`` int32."""

    vertices: FloatArray
    triangles: IntArray


def shown_mesh(item: Any, depsgraph: Any) -> Any | None:
    """Return the mesh that the viewport shows for an object: its own while a tool works on it, else evaluated."""
    if item.type != "MESH":
        return None
    if item.mode == "SCULPT":
        return item.data
    return item.evaluated_get(depsgraph).data


def shown_surface(item: Any, depsgraph: Any) -> Shown | None:
    """Return the surface the viewport shows for an object, or None where it has none."""
    mesh = shown_mesh(item, depsgraph)
    if mesh is None or not len(mesh.polygons):
        return None
    return Shown(shown_vertices(mesh), shown_triangles(mesh))


def shown_vertices(mesh: Any) -> FloatArray:
    """Return a mesh's vertices ``(n, 3)``, float32, object space."""
    flat = np.empty(len(mesh.vertices) * 3, np.float32)
    mesh.vertices.foreach_get("co", flat)
    return flat.reshape(-1, 3)  # type: ignore[return-value]


def shown_triangles(mesh: Any) -> IntArray:
    """Return a mesh's triangles ``(m, 3)``, int32."""
    mesh.calc_loop_triangles()
    flat = np.empty(len(mesh.loop_triangles) * 3, np.int32)
    mesh.loop_triangles.foreach_get("vertices", flat)
    return flat.reshape(-1, 3)  # type: ignore[return-value]
