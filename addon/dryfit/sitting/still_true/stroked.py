"""The design after strokes in Sculpt Mode: what was read before, with the vertices of what was sculpted since.

Reading a scene takes the mesh out of the sculptor's hand for a moment. A piece of triangles and quads, shaped by no
modifier and no shape key, stands in its own mesh as it is measured, so that nothing has to be taken away from it.
Whatever else changed, or is shaped by more than a brush, is for a whole reading.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import bpy
import numpy as np

from ...model.arrays import FloatArray, IntArray
from ...model.snapshot import Part, Snapshot
from ...scene.meshes import is_mirrored, local_vertices, world_vertices_mm
from ...scene.units import mm_per_unit
from .design_prints import BETWEEN, RESERVED
from .design_reading import DesignRead

NO_FACES = np.zeros((0, 3), np.int64)
FIRST_TO_THIRD = ([0, 1, 2], [0, 2, 3])
SECOND_TO_FOURTH = ([0, 1, 3], [1, 2, 3])
UNSURE = 1e-5
"""Halves whose product is less than this, over that of their sides, may be told apart by rounding alone: single
precision carries seven digits."""
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
    if len(mesh.vertices) != len(part.vertices_mm) or not np.array_equal(_faces(item, part.vertices_mm), part.faces):
        return None
    faces = _faces(item, local_vertices(mesh))
    evaluated = item.evaluated_get(bpy.context.evaluated_depsgraph_get())
    vertices_mm = world_vertices_mm(evaluated, mesh, mm_per_unit(scene))
    if not len(faces) or not _stands(vertices_mm, part.vertices_mm):
        return None
    return replace(part, vertices_mm=vertices_mm, faces=faces)


def _stands(now_mm: FloatArray, before_mm: FloatArray) -> bool:
    return bool((now_mm == before_mm).all(axis=1).mean() >= STANDING_SHARE)


def _is_plain(item: Any) -> bool:
    """Tell whether an object in Sculpt Mode is shaped by its own mesh alone, and shapes nothing else."""
    if item.type != "MESH" or item.mode != "SCULPT" or item.use_dynamic_topology_sculpting:
        return False
    if item.modifiers or item.data.shape_keys is not None or item.data.users > 1:
        return False
    return not any(child.parent_type.startswith("VERTEX") for child in item.children)


def _faces(item: Any, vertices: FloatArray) -> IntArray:
    """Return an object's triangles as they are measured with vertices ``(n, 3)``, ``(m, 3)``; none where unsure."""
    faces = split(*_corners(item.data), vertices)
    return faces[:, ::-1] if is_mirrored(item) else faces


def _corners(mesh: Any) -> tuple[IntArray, IntArray]:
    """Return the vertex of every face corner in face order, and how many corners each face has."""
    corners, totals = np.empty(len(mesh.loops), np.int32), np.empty(len(mesh.polygons), np.int32)
    mesh.loops.foreach_get("vertex_index", corners)
    mesh.polygons.foreach_get("loop_total", totals)
    return corners.astype(np.int64), totals.astype(np.int64)


def split(corners: IntArray, totals: IntArray, vertices: FloatArray) -> IntArray:
    """Return triangles and quads as Blender triangulates them, ``(m, 3)``; none where that cannot be told.

    A quad is cut from its first corner to its third, unless the halves would then look opposite ways: from the second
    to the fourth. (Blender's own rule, seen in what it does; where the halves are so thin or folded so sharply that
    rounding may decide, nobody knows.)

    Parameters
    ----------
    corners, totals
        The vertex of every face corner in face order, ``(c,)``, and how many corners each face has, ``(p,)``.
    vertices
        ``(n, 3)``, in any unit; the mesh's own or turned, moved and scaled alike along all axes.
    """
    first = np.cumsum(totals) - totals
    is_quad = totals == 4
    if not len(totals) or not (is_quad | (totals == 3)).all():
        return NO_FACES
    quads = corners[first[is_quad][:, None] + np.arange(4)]
    ahead, across, back = (vertices[quads[:, corner]] - vertices[quads[:, 0]] for corner in (1, 2, 3))
    halves = np.cross(ahead, across), np.cross(back, across)
    same_side = np.einsum("ij,ij->i", *halves)
    lengths = [np.linalg.norm(each, axis=1) for each in (ahead, across, across, back)]
    if (np.abs(same_side) <= UNSURE * np.prod(lengths, axis=0)).any():
        return NO_FACES
    before = np.cumsum(totals - 2) - (totals - 2)
    faces = np.empty(((totals - 2).sum(), 3), np.int64)
    faces[before[~is_quad]] = corners[first[~is_quad][:, None] + np.arange(3)]
    for half, (plain, turned) in enumerate(zip(FIRST_TO_THIRD, SECOND_TO_FOURTH, strict=True)):
        faces[before[is_quad] + half] = np.where((same_side > 0.0)[:, None], quads[:, turned], quads[:, plain])
    return faces
