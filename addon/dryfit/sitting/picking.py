"""Pick a finding: select its piece and what is wrong on it, and turn the view to it."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from ..model.arrays import BoolArray, FloatArray, IntArray
from ..scene.units import mm_per_unit
from .finding_place import resting_place
from .finding_vertices import finding_vertices
from .framing import frame_place
from .parts import scene_base
from .picked_paint import paint_its_value
from .posed_view import player
from .quiet_pick import picks_quietly
from .redraw import redraw_views, settle_sidebars
from .surfaces import shown_vertices
from .the_pick import picked_finding

LANDMARK_ROUND_MM = 25.0
"""How much round a landmark is shown, mm: enough of the face to know where one is."""
FACING = 0.4
"""Cosine of some 66 degrees: a surface that looks further off from straight out of the head, the side of a tooth or the
inner face of a rim, would be looked at along the skin or from within the head. It is looked at from outside instead."""


def finding_picked(bench: Any, context: Any) -> None:
    """Show the picked finding, as the update of the bench's pick."""
    redraw_views()
    settle_sidebars()
    finding = picked_finding(bench)
    if picks_quietly() or finding is None:
        return
    if bench.follow:
        show_finding(context, bench)
    paint_its_value(bench, finding)


@dataclass(frozen=True)
class FindingSpot:
    """Where a finding is on its evaluated piece.

    Attributes
    ----------
    at
        The place, world space, Blender units ``(3,)``.
    outward
        The direction the surface looks there ``(3,)``, or zeros where it is not known.
    size
        Extent of the finding's elements around the place, Blender units.
    vertices
        Vertices of the evaluated piece that belong to it.
    """

    at: FloatArray
    outward: FloatArray
    size: float
    vertices: IntArray


def show_finding(context: Any, bench: Any) -> bool:
    """Select, frame and mark the picked finding; return whether its piece could be selected."""
    finding = picked_finding(bench)
    if finding is None:
        return False
    spot = spot_of(context, finding)
    selected = finding.subject is not None and _select(context, finding.subject, spot.vertices)
    frame_place(context, spot.at, spot.outward, spot.size)
    return selected


def look_at_landmark(context: Any, item: Any) -> None:
    """Turn the view to a landmark, seen from outside the head, near enough to judge its place."""
    at = np.array(item.matrix_world.translation)
    frame_place(context, at, _outward_from_base(context.scene, at), LANDMARK_ROUND_MM / mm_per_unit(context.scene))


def spot_of(context: Any, finding: Any) -> FindingSpot:
    """Return where a finding is now; its stored place where the piece is gone or was rebuilt."""
    scene = context.scene
    at = _place(scene, finding)
    mesh = _evaluated_mesh(context, finding.subject)
    vertices = finding_vertices(scene, finding, mesh)
    if mesh is None or not len(vertices):
        return FindingSpot(at, _outward_from_base(scene, at), 0.0, np.zeros(0, np.int64))
    matrix = np.array(finding.subject.matrix_world)
    places = shown_vertices(mesh)[vertices].astype(np.float64) @ matrix[:3, :3].T + matrix[:3, 3]
    looks = _normals(mesh)[vertices] @ np.linalg.inv(matrix[:3, :3])
    outward = looks.mean(axis=0)
    away = _outward_from_base(scene, at)
    if outward @ away < FACING * np.linalg.norm(outward):
        outward = away
    size = float(np.linalg.norm(places - (places.mean(axis=0) if finding.motion else at), axis=1).max())
    return FindingSpot(at, outward / (np.linalg.norm(outward) or 1.0), size, vertices)


def _place(scene: Any, finding: Any) -> FloatArray:
    """Return where to look: in a pose that is being played, where it was measured; at rest, where its piece rests."""
    at = np.array(finding.at_mm) / mm_per_unit(scene)
    return resting_place(scene, finding, at) if finding.motion and player() is None else at


def _evaluated_mesh(context: Any, item: Any) -> Any | None:
    if item is None or item.type != "MESH" or item.name not in context.scene.objects:
        return None
    if item.mode in {"SCULPT", "EDIT"}:
        item.update_from_editmode()
        return item.data
    return item.evaluated_get(context.evaluated_depsgraph_get()).data


def _normals(mesh: Any) -> FloatArray:
    flat = np.empty(len(mesh.vertices) * 3, np.float32)
    mesh.vertex_normals.foreach_get("vector", flat)
    return flat.reshape(-1, 3).astype(np.float64)


def _outward_from_base(scene: Any, at: FloatArray) -> FloatArray:
    base = scene_base(scene)
    if base is None:
        return np.zeros(3)
    corners = np.array([base.matrix_world @ _vector(corner) for corner in base.bound_box])
    outward = at - corners.mean(axis=0)
    return np.asarray(outward / (np.linalg.norm(outward) or 1.0))


def _vector(corner: Any) -> Any:
    from mathutils import Vector

    return Vector(corner)


def _select(context: Any, item: Any, vertices: IntArray) -> bool:
    """Select the piece, and on it the finding's vertices where the evaluated ones are its own."""
    layer = context.view_layer
    if item.name not in layer.objects or not item.visible_get(view_layer=layer):
        return False
    active = layer.objects.active
    if active is not None and active.mode != "OBJECT":
        return active == item and _select_in_mode(item, vertices)
    for other in layer.objects:
        if other.select_get(view_layer=layer) != (other == item):
            other.select_set(other == item, view_layer=layer)
    layer.objects.active = item
    if item.library is None and item.data.library is None and len(vertices):
        _flag_vertices(item.data, vertices)
    return True


def _flag_vertices(mesh: Any, vertices: IntArray) -> None:
    if vertices.max() >= len(mesh.vertices):
        return
    chosen = np.zeros(len(mesh.vertices), bool)
    chosen[vertices] = True
    edges = np.empty(len(mesh.edges) * 2, np.int32)
    mesh.edges.foreach_get("vertices", edges)
    corners = np.empty(len(mesh.loops), np.int32)
    mesh.loops.foreach_get("vertex_index", corners)
    starts = np.empty(len(mesh.polygons), np.int32)
    mesh.polygons.foreach_get("loop_start", starts)
    whole = np.logical_and.reduceat(chosen[corners], starts) if len(starts) else np.zeros(0, bool)
    _flag(mesh, "vert", "POINT", chosen)
    both_ends: BoolArray = np.logical_and(chosen[edges[0::2]], chosen[edges[1::2]])
    _flag(mesh, "edge", "EDGE", both_ends)
    _flag(mesh, "poly", "FACE", whole)


def _flag(mesh: Any, kind: str, domain: str, chosen: BoolArray) -> None:
    """Write a selection where Blender keeps it, as one block of booleans.

    Blender 5.0 leaves ``.select_edge`` as pairs of integers on meshes made by ``from_pydata``. Setting edges through
    RNA then crashes, and setting the attribute fails; so what is not boolean is made again.
    """
    name = f".select_{kind}"
    stored = mesh.attributes.get(name)
    if stored is not None and stored.data_type != "BOOLEAN":
        mesh.attributes.remove(stored)
        stored = None
    stored = stored or mesh.attributes.new(name, "BOOLEAN", domain)
    stored.data.foreach_set("value", chosen)


def _select_in_mode(item: Any, vertices: IntArray) -> bool:
    if item.mode != "EDIT" or item.type != "MESH":
        return True
    import bmesh

    mesh = bmesh.from_edit_mesh(item.data)
    mesh.verts.ensure_lookup_table()
    if not len(vertices) or vertices.max() >= len(mesh.verts):
        return True
    for vertex in mesh.verts:
        vertex.select = False
    for place in vertices.tolist():
        mesh.verts[place].select = True
    mesh.select_flush(False)
    mesh.select_flush(True)
    bmesh.update_edit_mesh(item.data, loop_triangles=False, destructive=False)
    return True
