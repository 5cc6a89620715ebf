"""The painted value under the cursor."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from bpy_extras.view3d_utils import region_2d_to_origin_3d, region_2d_to_vector_3d

from .painting import Painted, painted_now
from .room.kept_room import StopWords
from .room.room_names import ROOM, STOPS
from .screen_text import extent, free_width, interface_scale, plate, write
from .words.unit_words import unit_word

_probe: list["ProbedValue"] = []


@dataclass(frozen=True)
class ProbedValue:
    """A value at a pixel of the viewport."""

    words: str
    x: float
    y: float


def read_value(context: Any, x: float, y: float) -> ProbedValue | None:
    """Read the painted value at a pixel and keep it to be drawn; None where nothing painted is there."""
    _probe.clear()
    origin = region_2d_to_origin_3d(context.region, context.region_data, (x, y))
    direction = region_2d_to_vector_3d(context.region, context.region_data, (x, y))
    best: tuple[float, str] | None = None
    for each in painted_now(context.scene):
        found = _hit(context, each, origin, direction)
        if found is not None and (best is None or found[0] < best[0]):
            best = found
    if best is None:
        return None
    _probe.append(ProbedValue(best[1], x, y))
    return _probe[0]


def stop_reading() -> None:
    """Draw no value any more."""
    _probe.clear()


def _hit(context: Any, each: Painted, origin: Any, direction: Any) -> tuple[float, str] | None:
    item = each.item
    if not item.visible_get(view_layer=context.view_layer):
        return None
    into = item.matrix_world.inverted_safe()
    start = into @ origin
    toward = (into @ (origin + direction)) - start
    depsgraph = context.evaluated_depsgraph_get()
    hit, place, _, face = item.ray_cast(start, toward, depsgraph=depsgraph)
    mesh = item.evaluated_get(depsgraph).data
    if not hit or len(mesh.vertices) != len(each.values):
        return None
    words = _words(context.scene, each, _between(mesh, face, place, each), _nearest(mesh, face, place))
    return (item.matrix_world @ place - origin).length, f"{item.name}: {words}"


def _words(scene: Any, each: Painted, value: float, vertex: int) -> str:
    """Return a value with what there is to say of it; of a room, what stops a form there."""
    figure = f"{value:.2f} {unit_word(each.entry.unit)}".rstrip() if np.isfinite(value) else ""
    if each.entry.name in (ROOM, STOPS):
        said = StopWords(scene).at(vertex)
        return ", ".join(words for words in (figure if each.entry.name == ROOM else "", said) if words)
    return figure or "not measured here"


def _nearest(mesh: Any, face: int, place: Any) -> int:
    """Return the corner of a polygon that is nearest to a place of it."""
    return min(mesh.polygons[face].vertices, key=lambda corner: (mesh.vertices[corner].co - place).length)


def _between(mesh: Any, face: int, place: Any, each: Painted) -> float:
    """Return the value at a place of a polygon, by inverse distance to its corners."""
    corners = list(mesh.polygons[face].vertices)
    apart = np.array([(mesh.vertices[corner].co - place).length for corner in corners])
    weights = 1.0 / (apart + 1e-12)
    return float(weights @ each.values[corners] / weights.sum())


def draw_probe(context: Any) -> None:
    """Write the value beside the cursor."""
    if not _probe:
        return
    scale = interface_scale(context)
    reading = _probe[0]
    width, _ = extent(reading.words, scale)
    x, y = reading.x + 14.0 * scale, reading.y + 8.0 * scale
    if x + width + 14.0 * scale > free_width(context):
        x = reading.x - width - 28.0 * scale
    plate(x, y, width + 14.0 * scale, 24.0 * scale)
    write(reading.words, x + 7.0 * scale, y + 8.0 * scale, scale)
