"""Show every part at a pose of a motion, drawn over the viewport; nothing in the file is changed by it.

The parts are read once. At each move of the slider their vertices are posed and drawn; the viewport's own copies are
hidden from this session's view meanwhile and shown again when it stops, before saving, and on opening another file.
"""

import math
from dataclasses import dataclass, field
from typing import Any

import bpy
import gpu
import numpy as np

from ..model.arrays import FloatArray
from ..model.snapshot import Part, Role, Snapshot
from ..scene.landmarks import LANDMARK
from ..scene.units import mm_per_unit
from .flat_shader import solid_shader
from .parts import listed_parts
from .redraw import redraw_views
from .screen_text import extent, folded, free_left, free_width, interface_scale, plate, write
from .words.pose_words import pose_title, pose_words

Poser = Any
LABEL_WIDTH = 330.0
"""Pixels at scale 1 that a line over the viewport may take."""
COLOURS = {
    Role.BASE: (0.72, 0.66, 0.62),
    Role.APPLIANCE: (0.50, 0.56, 0.50),
    Role.UPPER_TEETH: (0.90, 0.87, 0.78),
    Role.LOWER_TEETH: (0.90, 0.87, 0.78),
    Role.HARDWARE: (0.58, 0.47, 0.30),
    Role.EYE_LEFT: (0.88, 0.88, 0.90),
    Role.EYE_RIGHT: (0.88, 0.88, 0.90),
}


@dataclass
class Player:
    """The motion being played: where its parts are at any t, and what was hidden for it in which view layer.

    ``hidden`` holds Blender's numbers for the objects in this session, the same after a rename.
    """

    scene: str
    layer: str
    motion: str
    snapshot: Snapshot
    poser: Poser
    open_deg: float = math.nan
    hidden: set[int] = field(default_factory=set)
    shown_t: float = -1.0
    batches: list[tuple[Part, Any, Any]] = field(default_factory=list)


_playing: list[Player] = []


def player() -> Player | None:
    """Return the motion being played, or None."""
    return _playing[0] if _playing else None


def start_playing(context: Any, motion: str, snapshot: Snapshot, poser: Poser, open_deg: float = math.nan) -> None:
    """Draw the snapshot's parts at the slider's pose from now on.

    Parameters
    ----------
    poser
        Has ``vertices(part_name, t)`` that returns ``(n, 3)``, mm.
    open_deg
        How far the jaw's hinge opens at the end of the motion; nan where it is none.
    """
    stop_playing()
    new = Player(context.scene.name, context.view_layer.name, motion, snapshot, poser, open_deg)
    for item in _left_at_rest(context.scene):
        if item.visible_get(view_layer=context.view_layer):
            item.hide_set(True, view_layer=context.view_layer)
            new.hidden.add(item.session_uid)
    _playing.append(new)
    redraw_views()


def _left_at_rest(scene: Any) -> list[Any]:
    """Return what would stand at rest beside a posed face: the parts' own objects, and the landmarks on them."""
    parts = [part.item for part in listed_parts(scene) if part.role is not Role.IGNORE]
    return [*parts, *(item for item in scene.objects if item.get(LANDMARK))]


def stop_playing() -> None:
    """Stop, and show what was hidden."""
    while _playing:
        stopped = _playing.pop()
        scene = bpy.data.scenes.get(stopped.scene)
        layer = scene.view_layers.get(stopped.layer) if scene else None
        for item in layer.objects if layer else ():
            if item.session_uid in stopped.hidden:
                item.hide_set(False, view_layer=layer)
    redraw_views()


def pose_moved(bench: Any, context: Any) -> None:
    """Draw the slider's pose, as the update of the bench's pose."""
    redraw_views()


def draw_posed(context: Any) -> None:
    """Draw the parts at the pose."""
    playing = player()
    if playing is None or playing.scene != context.scene.name:
        return
    t = context.scene.dryfit.t
    if playing.shown_t != t:
        playing.batches = [(part, *_batch(playing.poser.vertices(part.name, t), part)) for part in _drawn(playing)]
        playing.shown_t = t
    _draw(context, playing)


def _drawn(playing: Player) -> list[Part]:
    return [part for part in playing.snapshot.parts if part.role in COLOURS]


def _batch(vertices_mm: FloatArray, part: Part) -> tuple[Any, Any]:
    layout = gpu.types.GPUVertFormat()
    layout.attr_add(id="position", comp_type="F32", len=3, fetch_mode="FLOAT")
    buffer = gpu.types.GPUVertBuf(format=layout, len=len(vertices_mm))
    buffer.attr_fill(id="position", data=np.ascontiguousarray(vertices_mm, np.float32))
    indices = gpu.types.GPUIndexBuf(type="TRIS", seq=np.ascontiguousarray(part.faces, np.int32))
    return gpu.types.GPUBatch(type="TRIS", buf=buffer, elem=indices), buffer


def _draw(context: Any, playing: Player) -> None:
    from mathutils import Matrix, Vector

    view = context.region_data
    into_units = Matrix.Scale(1.0 / mm_per_unit(context.scene), 4)
    shader = solid_shader()
    shader.bind()
    shader.uniform_float("view_to_clip", view.perspective_matrix @ into_units)
    shader.uniform_float("eye", (*(view.view_rotation @ Vector((0.0, 0.0, 1.0))), 1.0))
    gpu.state.depth_test_set("LESS_EQUAL")
    gpu.state.depth_mask_set(True)
    for part, batch, _ in playing.batches:
        shader.uniform_float("colour", (*COLOURS[part.role], 1.0))
        batch.draw(shader)
    gpu.state.depth_mask_set(False)
    gpu.state.depth_test_set("NONE")


def posing_words(scene: Any) -> list[str] | None:
    """Return what the last report says of the pose shown: gap and contact; None where nothing is played."""
    playing = player()
    if playing is None or playing.scene != scene.name:
        return None
    return pose_words(scene, playing.motion, scene.dryfit.t)


def draw_posed_label(context: Any) -> None:
    """Write motion, pose and gap at the top of the viewport."""
    words = posing_words(context.scene)
    if words is None:
        return
    scale = interface_scale(context)
    bench = context.scene.dryfit
    left = free_left(context)
    room = min(LABEL_WIDTH * scale, free_width(context) - left - 48.0 * scale)
    playing = player()
    title = pose_title(bench.motion, bench.t, playing.open_deg if playing else math.nan)
    lines = [title, *(line for each in words for line in folded(each, scale, room))]
    width = max(extent(line, scale)[0] for line in lines) + 16.0 * scale
    height = (len(lines) * 16.0 + 10.0) * scale
    x, top = left + 16.0 * scale, context.region.height - 110.0 * scale
    plate(x, top - height, width, height)
    for number, line in enumerate(lines):
        write(line, x + 8.0 * scale, top - (16.0 * number + 17.0) * scale, scale)


def forget_posed() -> None:
    """Stop playing: what it was made from may be gone."""
    stop_playing()
