"""The surface of an object as it is shown now: vertices and triangles in its own space, Blender units."""

from typing import Any

import numpy as np
import numpy.typing as npt

from ..model.arrays import IntArray


def shown_mesh(item: Any, depsgraph: Any) -> Any | None:
    """Return the mesh that the viewport shows for an object: its own while a tool works on it, else evaluated."""
    if item.type != "MESH":
        return None
    if item.mode == "SCULPT":
        return item.data
    return item.evaluated_get(depsgraph).data


def shown_vertices(mesh: Any) -> npt.NDArray[np.float32]:
    """Return a mesh's vertices ``(n, 3)``, float32, object space.

    Read through the attribute, which Blender copies as one block; ``vertices`` goes one by one, 30 ms a million.
    In Edit Mode there is no such attribute.
    """
    flat = np.empty(len(mesh.vertices) * 3, np.float32)
    position = mesh.attributes.get("position")
    if position is not None and len(position.data) == len(mesh.vertices):
        position.data.foreach_get("vector", flat)
    else:
        mesh.vertices.foreach_get("co", flat)
    return flat.reshape(-1, 3)


def shown_triangles(mesh: Any) -> IntArray:
    """Return a mesh's triangles ``(m, 3)``, int32."""
    mesh.calc_loop_triangles()
    flat = np.empty(len(mesh.loop_triangles) * 3, np.int32)
    mesh.loop_triangles.foreach_get("vertices", flat)
    return flat.reshape(-1, 3)
