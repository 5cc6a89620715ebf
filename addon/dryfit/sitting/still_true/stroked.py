"""The design after strokes in Sculpt Mode: what was read before, with the vertices of what was sculpted since.

Reading a scene takes the mesh out of the sculptor's hand for a moment. A piece that is nothing but triangles, shaped by
no modifier and no shape key, stands in its own mesh as it is measured, so that nothing has to be taken away from it.
Whatever else changed, or is shaped by more than a brush, is for a whole reading.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import bpy
import numpy as np

from ...model.arrays import FloatArray, IntArray
from ...model.snapshot import Part, Snapshot
from ...scene.meshes import is_mirrored, world_vertices_mm
from ...scene.units import mm_per_unit
from .design_prints import BETWEEN, RESERVED
from .design_reading import DesignRead

STANDING_SHARE = 0.1
"""So many of a piece's vertices at least must be where they were to the bit: then it stands where it stood."""


def after_strokes(scene: Any, before: DesignRead, prints: Mapping[str, str]) -> DesignRead | None:
    """Return the design as it is now, or None where it has to be read as a whole.

    Parameters
    ----------
    before
        What was read last.
    prints
        What the design is made of now.
    """
    changed = [name for name in prints if before.prints.get(name) != prints[name]]
    if before.prints.keys() != prints.keys() or not all(_only_shape(name, before.prints, prints) for name in changed):
        return None
    snapshot = before.snapshot
    for name in changed:
        part = _sculpted(scene, snapshot, name)
        if part is None:
            return None
        snapshot = replace(snapshot, parts=tuple(part if each.name == name else each for each in snapshot.parts))
    return DesignRead(snapshot, before.brief, dict(prints))


def _only_shape(name: str, before: Mapping[str, str], now: Mapping[str, str]) -> bool:
    """Tell whether nothing of a part changed but its shape, the first aspect of its hash."""
    return name not in RESERVED and before[name].partition(BETWEEN)[2] == now[name].partition(BETWEEN)[2] != ""


def _sculpted(scene: Any, snapshot: Snapshot, name: str) -> Part | None:
    """Return a part with the vertices that its object has now; None where these are not all that shapes it."""
    item = scene.objects.get(name)
    part = next((each for each in snapshot.parts if each.name == name), None)
    if (
        item is None
        or part is None
        or not _is_plain(item)
        or any(name in m.frames_mm for m in snapshot.motions.values())
    ):
        return None
    mesh = item.data
    if len(mesh.vertices) != len(part.vertices_mm) or not np.array_equal(_triangles(item), part.faces):
        return None
    evaluated = item.evaluated_get(bpy.context.evaluated_depsgraph_get())
    vertices_mm = world_vertices_mm(evaluated, mesh, mm_per_unit(scene))
    return replace(part, vertices_mm=vertices_mm) if _stands(vertices_mm, part.vertices_mm) else None


def _stands(now_mm: FloatArray, before_mm: FloatArray) -> bool:
    return bool((now_mm == before_mm).all(axis=1).mean() >= STANDING_SHARE)


def _is_plain(item: Any) -> bool:
    """Tell whether an object in Sculpt Mode is shaped by its own mesh alone, and shapes nothing else."""
    if item.type != "MESH" or item.mode != "SCULPT" or item.use_dynamic_topology_sculpting:
        return False
    if item.modifiers or item.data.shape_keys is not None or item.data.users > 1:
        return False
    return not any(child.parent_type.startswith("VERTEX") for child in item.children)


def _triangles(item: Any) -> IntArray:
    """Return the triangles of a mesh that has nothing else, as they are measured, ``(m, 3)``; else none."""
    mesh = item.data
    corners = np.empty(len(mesh.loops), np.int32)
    mesh.loops.foreach_get("vertex_index", corners)
    if len(corners) != 3 * len(mesh.polygons) or not _all_of_three(mesh):
        return np.zeros((0, 3), np.int64)
    faces = corners.reshape(-1, 3).astype(np.int64)
    return faces[:, ::-1] if is_mirrored(item) else faces


def _all_of_three(mesh: Any) -> bool:
    counts = np.empty(len(mesh.polygons), np.int32)
    mesh.polygons.foreach_get("loop_total", counts)
    return bool((counts == 3).all())
