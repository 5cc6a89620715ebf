"""Draw painted values over the pieces that carry them."""

from dataclasses import dataclass
from typing import Any

import gpu
import numpy as np
import numpy.typing as npt

from ..geometry.tiling import Tile, tiles
from ..model.arrays import BoolArray, FloatArray, IntArray
from .paint_shader import forget_shader, paint_shader
from .paintable import AT_RIM
from .painting import Painted, painted_now
from .room.room_names import LEFT, STOPS
from .still_true.check_rows import outdated_reason
from .stored_report import StoredField
from .surfaces import shown_mesh, shown_triangles, shown_vertices

Vertices = npt.NDArray[np.float32]
TILE = 32_768
"""Triangles sent to the graphics card together: a stroke sends again only the tiles that it touched."""
NEARER = 2e-4
"""How far the paint is pulled toward the eye, so that it lies over the sculpt: in clip space where the view has
perspective, else as a share of how much it shows."""

LEAST_STEPS = 5.0 * 2.0 / 2**24
"""Five steps of a depth buffer of 24 bits: nearer than that, paint and sculpt would lie in each other."""
FADED = 0.35
"""Share of its opacity that paint keeps when the scene is another one since; the legend says so in words."""


@dataclass
class DrawnTile:
    """One tile of a painted piece on the graphics card, and its lowest value."""

    tile: Tile
    indices: Any
    batch: Any = None
    lowest: float = 0.0


@dataclass
class Drawing:
    """One painted piece on the graphics card, and what it was made from."""

    stamp: tuple[int, int]
    triangles: IntArray
    vertices: int
    tiles: list[DrawnTile]
    field: str = ""


_drawings: dict[str, Drawing] = {}


def forget_painted() -> None:
    """Drop every cached drawing."""
    _drawings.clear()
    forget_shader()


def draw_painted(context: Any) -> None:
    """Draw the painted field of the scene's bench on every piece that has one."""
    bench = context.scene.dryfit
    if not bench.paint:
        _drawings.clear()
        return
    for each in painted_now(context.scene):
        if each.item.visible_get(view_layer=context.view_layer, viewport=context.space_data):
            older = not each.live and outdated_reason(context.scene, each.entry.check)
            _draw(context, each, bench.opacity * (FADED if older else 1.0))


def _draw(context: Any, each: Painted, opacity: float) -> None:
    drawing = _drawing(context, each)
    if drawing is None:
        return
    matrix = each.item.matrix_world
    view = context.region_data
    shader = paint_shader()
    shader.bind()
    shader.uniform_float("view_to_clip", view.perspective_matrix @ matrix)
    shader.uniform_float("eye", (*_eye(view, matrix), opacity))
    limited = each.entry.limit is not None and each.entry.name not in AT_RIM
    shader.uniform_float("limit", (each.entry.limit or 0.0, float(limited)))
    shader.uniform_float("nearer", nearer_in_clip_space(view))
    shader.uniform_float("turned", 1.0 if matrix.to_3x3().determinant() >= 0.0 else -1.0)
    gpu.state.blend_set("ALPHA")
    below = each.entry.diverging and each.entry.name != LEFT  # what is over its room is hidden by nothing of the base
    for depth, hatched in (("LESS_EQUAL", 0.0), ("GREATER", 1.0)) if below else (("LESS_EQUAL", 0.0),):
        shader.uniform_float("scale", (each.entry.low, each.entry.high, hatched, _way_of_colour(each.entry)))
        gpu.state.depth_test_set(depth)
        for drawn in drawing.tiles:
            if not hatched or drawn.lowest <= (each.entry.limit or 0.0):
                drawn.batch.draw(shader)
    gpu.state.blend_set("NONE")
    gpu.state.depth_test_set("NONE")


def _way_of_colour(entry: StoredField) -> float:
    """Return how the shader is to colour a field: 0 from low to high, 1 about zero, 2 each kind by itself."""
    return 2.0 if entry.name == STOPS else float(entry.diverging)


def nearer_in_clip_space(view: Any) -> float:
    """Return how far paint is pulled toward the eye in a view's clip space.

    Without perspective depth is spread evenly from the nearest to the furthest that is drawn, a thousand heads apart:
    a fixed share of it would lift paint through the head.
    """
    if view.is_perspective:
        return NEARER
    return max(NEARER * view.view_distance * abs(view.window_matrix[2][2]), LEAST_STEPS)


def _drawing(context: Any, each: Painted) -> Drawing | None:
    """Return the piece's drawing, brought up to date where its values or its surface changed."""
    drawing = _drawings.get(each.item.name)
    if drawing is not None and drawing.stamp == each.stamp and drawing.field == each.entry.name:
        return drawing
    mesh = shown_mesh(each.item, context.evaluated_depsgraph_get())
    if mesh is None or not len(mesh.polygons) or len(mesh.vertices) != len(each.values):
        return None
    vertices = shown_vertices(mesh)
    followed = each.live is not None and drawing is not None and drawing.vertices == len(vertices)
    followed = followed and drawing is not None and drawing.field == each.entry.name
    if drawing is None or not followed:
        drawing = _cut(drawing, vertices, shown_triangles(mesh))
    changed = each.live.undrawn if each.live is not None and followed else None
    _fill(drawing, vertices, each.values, changed)
    if each.live is not None:
        each.live.undrawn[:] = False
    drawing.stamp, drawing.field = each.stamp, each.entry.name
    _drawings[each.item.name] = drawing
    return drawing


def _cut(before: Drawing | None, vertices: Vertices, triangles: IntArray) -> Drawing:
    """Return a drawing cut into tiles, the same ones as before where the triangles are the same."""
    if before is not None and before.vertices == len(vertices) and np.array_equal(before.triangles, triangles):
        return before
    cut = tiles(vertices, triangles, TILE)  # type: ignore[arg-type]
    drawn = [DrawnTile(tile, gpu.types.GPUIndexBuf(type="TRIS", seq=tile.faces)) for tile in cut]
    return Drawing((0, 0), triangles, len(vertices), drawn)


def _fill(drawing: Drawing, vertices: Vertices, values: FloatArray, changed: BoolArray | None) -> None:
    """Send values and places of the tiles with a changed vertex to the graphics card; None: of all."""
    for drawn in drawing.tiles:
        which = drawn.tile.vertices
        if changed is None or drawn.batch is None or changed[which].any():
            buffer = _buffer(vertices[which], values[which])
            drawn.lowest = float(np.nanmin(values[which], initial=np.inf))
            drawn.batch = gpu.types.GPUBatch(type="TRIS", buf=buffer, elem=drawn.indices)


def _eye(view: Any, matrix: Any) -> tuple[float, float, float]:
    """Return the direction toward the eye in the piece's own space, unit length."""
    toward = matrix.to_3x3().inverted_safe() @ (view.view_rotation @ _back())
    x, y, z = toward.normalized()
    return x, y, z


def _back() -> Any:
    from mathutils import Vector

    return Vector((0.0, 0.0, 1.0))


def _buffer(vertices: Vertices, values: FloatArray) -> Any:
    layout = gpu.types.GPUVertFormat()
    layout.attr_add(id="position", comp_type="F32", len=3, fetch_mode="FLOAT")
    layout.attr_add(id="value", comp_type="F32", len=2, fetch_mode="FLOAT")
    buffer = gpu.types.GPUVertBuf(format=layout, len=len(vertices))
    buffer.attr_fill(id="position", data=np.ascontiguousarray(vertices, np.float32))
    buffer.attr_fill(id="value", data=value_pairs(values))
    return buffer


def value_pairs(values: FloatArray) -> Any:
    """Return ``(n, 2)`` float32: the value, and 1 where it was measured, 0 where it is nan."""
    pairs = np.empty((len(values), 2), np.float32)
    pairs[:, 0], pairs[:, 1] = values, np.isfinite(values)
    pairs[pairs[:, 1] == 0.0, 0] = 0.0
    return pairs
