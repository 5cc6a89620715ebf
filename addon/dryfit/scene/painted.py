"""Draw painted values over the pieces that carry them."""

from dataclasses import dataclass
from typing import Any

import gpu
import numpy as np

from ..model.arrays import FloatArray
from .paint_shader import forget_shader, paint_shader
from .painting import Painted, painted_now
from .surfaces import Shown, shown_surface

NEARER = 2e-4
"""How far the paint is pulled toward the eye in clip space, so that it lies over the sculpt."""


@dataclass
class Drawing:
    """One painted piece on the graphics card, and what it was made from."""

    stamp: tuple[int, int]
    batch: Any
    positions: Any


_drawings: dict[str, Drawing] = {}


def forget_painted() -> None:
    """Drop every cached drawing."""
    _drawings.clear()
    forget_shader()


def forget_piece(name: str) -> None:
    """Drop the cached drawing of one piece."""
    _drawings.pop(name, None)


def draw_painted(context: Any) -> None:
    """Draw the painted field of the scene's bench on every piece that has one."""
    bench = context.scene.dryfit
    if not bench.paint:
        _drawings.clear()
        return
    for each in painted_now(context.scene):
        if each.item.visible_get(view_layer=context.view_layer, viewport=context.space_data):
            _draw(context, each, bench.opacity)


def _draw(context: Any, each: Painted, opacity: float) -> None:
    drawing = _drawings.get(each.item.name)
    if drawing is None or drawing.stamp != each.stamp:
        shown = shown_surface(each.item, context.evaluated_depsgraph_get())
        if shown is None or len(shown.vertices) != len(each.values):
            return
        drawing = Drawing(each.stamp, *_batch(shown, each.values))
        _drawings[each.item.name] = drawing
    matrix = each.item.matrix_world
    view = context.region_data
    shader = paint_shader()
    shader.bind()
    shader.uniform_float("view_to_clip", view.perspective_matrix @ matrix)
    shader.uniform_float("scale", (each.entry.low, each.entry.high, 0.0, float(each.entry.diverging)))
    shader.uniform_float("eye", (*_eye(view, matrix), opacity))
    shader.uniform_float("limit", (each.entry.limit or 0.0, float(each.entry.limit is not None)))
    shader.uniform_float("nearer", NEARER)
    gpu.state.depth_test_set("LESS_EQUAL")
    gpu.state.blend_set("ALPHA")
    drawing.batch.draw(shader)
    gpu.state.blend_set("NONE")
    gpu.state.depth_test_set("NONE")


def _eye(view: Any, matrix: Any) -> tuple[float, float, float]:
    """Return the direction toward the eye in the piece's own space, unit length."""
    toward = matrix.to_3x3().inverted_safe() @ (view.view_rotation @ _back())
    x, y, z = toward.normalized()
    return x, y, z


def _back() -> Any:
    from mathutils import Vector

    return Vector((0.0, 0.0, 1.0))


def _batch(shown: Shown, values: FloatArray) -> tuple[Any, Any]:
    layout = gpu.types.GPUVertFormat()
    layout.attr_add(id="position", comp_type="F32", len=3, fetch_mode="FLOAT")
    layout.attr_add(id="value", comp_type="F32", len=2, fetch_mode="FLOAT")
    buffer = gpu.types.GPUVertBuf(format=layout, len=len(shown.vertices))
    buffer.attr_fill(id="position", data=np.ascontiguousarray(shown.vertices, np.float32))
    buffer.attr_fill(id="value", data=value_pairs(values))
    indices = gpu.types.GPUIndexBuf(type="TRIS", seq=np.ascontiguousarray(shown.triangles, np.int32))
    return gpu.types.GPUBatch(type="TRIS", buf=buffer, elem=indices), buffer


def value_pairs(values: FloatArray) -> Any:
    """Return ``(n, 2)`` float32: the value, and 1 where it was measured, 0 where it is nan."""
    known = np.isfinite(values)
    return np.stack([np.where(known, values, 0.0), known], axis=1).astype(np.float32)
