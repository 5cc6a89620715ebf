"""Follow the sculptor: after each stroke the clearance of what changed is measured again and painted.

While it is on, a timer compares the meshes with what was measured last; positions are read as they are, also in
Sculpt Mode. It switches itself off, and says why, when it cannot keep up or a piece changed its topology.
"""

import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import bpy
import numpy as np

from ..geometry.following import Followed, Following
from ..model.arrays import FloatArray, IntArray
from ..scene.units import mm_per_unit
from .live_values import forget_live_values, keep_live_values, rename_live_values, say_live
from .painting import part_objects
from .redraw import redraw_views, settle_sidebars
from .room.live_left import LeftOnPiece, left_words, room_on
from .room.room_names import LEFT
from .surfaces import shown_vertices

TICK_SECONDS = 0.1
SLOW_SECONDS = 0.35
"""A refresh slower than this is no longer following."""
SAME_MM = 1e-2
"""A piece's own vertices are those that were measured within this: rounding to single precision is a hundred times
smaller on a head, and the tolerance that strokes are held against twenty times larger."""
PATIENCE = 3
"""Slow refreshes in a row before it switches itself off."""


@dataclass
class Piece:
    """One followed piece and its vertices as last measured, object space, ``(n * 3,)`` float32.

    ``uid`` is Blender's number for the object in this session, the same after a rename, undo and redo.
    """

    uid: int
    name: str
    following: Following
    last: FloatArray
    matrix: FloatArray
    left: LeftOnPiece | None = None


@dataclass
class Watch:
    """What is followed in which scene, and what was painted when it was told last."""

    scene: str
    pieces: list[Piece]
    left_out: list[str] = field(default_factory=list)
    slow: int = 0
    seconds: float = 0.0
    told: str = ""


_watches: list[Watch] = []


def watching() -> Watch | None:
    """Return what is followed, or None."""
    return _watches[0] if _watches else None


def start_live(context: Any, followed: Mapping[str, Following]) -> Watch:
    """Follow every piece that is a plain mesh from now on.

    Parameters
    ----------
    followed
        What was measured of each piece, by its name.
    """
    stop_live("")
    scene = context.scene
    watch = Watch(scene.name, [])
    objects = part_objects(scene)
    for name, following in followed.items():
        piece = _piece(scene, objects.get(name), following)
        if piece is None:
            watch.left_out.append(name)
        else:
            watch.pieces.append(piece)
            keep_live_values(piece.name, piece.following.clearance_mm)
    follow_room(scene, watch)
    _watches.append(watch)
    _tell(scene, watch)
    bpy.app.timers.register(_tick, first_interval=TICK_SECONDS)
    redraw_views()
    settle_sidebars()
    return watch


def follow_room(scene: Any, watch: Watch) -> None:
    """Hold the followed pieces against the room that the scene keeps now; where it keeps none, against none."""
    for piece in watch.pieces:
        room = room_on(scene, piece.following.base)
        piece.left = LeftOnPiece(room, len(piece.following.vertices_mm)) if room is not None else None
        if piece.left is not None:
            keep_live_values(piece.name, piece.left.left_mm, field=LEFT)


def stop_live(why: str) -> None:
    """Stop following; ``why`` is shown where it is not empty."""
    _watches.clear()
    say_live(why)
    forget_live_values()
    if bpy.app.timers.is_registered(_tick):
        bpy.app.timers.unregister(_tick)
    redraw_views()
    settle_sidebars()


def _piece(scene: Any, item: Any | None, following: Following) -> Piece | None:
    """Return the piece to follow, or None where its own vertices are not the ones that were measured."""
    if item is None or item.type != "MESH" or len(item.data.vertices) != len(following.vertices_mm):
        return None
    if any(each.type == "MULTIRES" for each in item.modifiers):
        return None
    matrix = _matrix(scene, item)
    last = own_positions(item)
    if len(last) != 3 * len(following.vertices_mm):
        return None
    placed = last.reshape(-1, 3) @ matrix[:3, :3].T + matrix[:3, 3]
    if np.abs(placed - following.vertices_mm).max() > SAME_MM:
        return None
    return Piece(item.session_uid, item.name, following, last, matrix)


def _matrix(scene: Any, item: Any) -> FloatArray:
    """Return the object's matrix from its own units to millimetres, world space."""
    return np.array(item.matrix_world, dtype=np.float64) * mm_per_unit(scene)


def own_positions(item: Any) -> FloatArray:
    """Return the vertices as they are shown now, object space, ``(n * 3,)`` float32.

    A plain mesh's own vertices are what a tool works on; with shape keys or modifiers the evaluated ones are shown.
    """
    mesh = item.data
    if mesh.shape_keys is not None or len(item.modifiers):
        mesh = item.evaluated_get(bpy.context.evaluated_depsgraph_get()).data
    return shown_vertices(mesh).ravel()  # type: ignore[return-value]


def _tick() -> float | None:
    watch = watching()
    if watch is None:
        return None
    scene = bpy.data.scenes.get(watch.scene)
    if scene is None:
        stop_live("")
        return None
    started = time.perf_counter()
    followed = [_follow(scene, piece) for piece in watch.pieces]
    if None in followed:
        stop_live("Live switched itself off: a piece was removed or its topology changed.")
        return None
    caught_up = sum(_catch_up(piece) for piece in watch.pieces) if scene.dryfit.painted == LEFT else 0
    if caught_up or watch.told != scene.dryfit.painted or any(each is not None and each.moved for each in followed):
        watch.seconds = time.perf_counter() - started
        _tell(scene, watch)
        redraw_views()
        watch.slow = watch.slow + 1 if watch.seconds > SLOW_SECONDS else 0
    if watch.slow >= PATIENCE:
        stop_live(f"Live switched itself off: {watch.seconds:.1f} s a stroke is too slow to follow.")
        return None
    return TICK_SECONDS


def _follow(scene: Any, piece: Piece) -> Followed | None:
    """Measure what changed on a piece; None where it cannot be followed any more."""
    item = _object_of(scene, piece)
    if item is None or item.type != "MESH" or len(item.data.vertices) * 3 != len(piece.last):
        return None
    if item.mode == "EDIT":
        return piece.following.verdict()
    now, matrix = own_positions(item), _matrix(scene, item)
    if len(now) != len(piece.last):
        return None
    moved = changed_rows(piece.last, now)
    if not np.array_equal(matrix, piece.matrix):
        moved, piece.matrix = np.arange(len(now) // 3), matrix
    if not len(moved):
        return piece.following.verdict()
    piece.last = now
    points = now.reshape(-1, 3)[moved].astype(np.float64) @ matrix[:3, :3].T + matrix[:3, 3]
    followed = piece.following.follow(moved, points)
    keep_live_values(piece.name, piece.following.clearance_mm, moved)
    if piece.left is not None:
        piece.left.note(moved)
    return followed


def _catch_up(piece: Piece) -> bool:
    """Measure what moved of the room that a piece has left, as much as a turn allows; tell whether anything did."""
    if piece.left is None:
        return False
    moved = piece.left.catch_up(piece.following.vertices_mm)
    if len(moved):
        keep_live_values(piece.name, piece.left.left_mm, moved, LEFT)
    return bool(len(moved))


def _object_of(scene: Any, piece: Piece) -> Any | None:
    """Return the followed object, also under a new name; None where it left the scene."""
    item = scene.objects.get(piece.name)
    if item is not None and item.session_uid == piece.uid:
        return item
    item = next((each for each in scene.objects if each.session_uid == piece.uid), None)
    if item is not None:
        rename_live_values(piece.name, item.name)
        piece.name = item.name
    return item


def changed_rows(before: FloatArray, after: FloatArray) -> IntArray:
    """Return which vertices differ between two flat arrays ``(n * 3,)``."""
    differ = (before != after).reshape(-1, 3)
    return np.flatnonzero(differ[:, 0] | differ[:, 1] | differ[:, 2])


def _tell(scene: Any, watch: Watch) -> None:
    watch.told = scene.dryfit.painted
    if watch.told == LEFT:
        say_live(f"Live · {left_words(scene, [piece.left for piece in watch.pieces if piece.left is not None])}")
        return
    verdicts = [piece.following.verdict() for piece in watch.pieces]
    area_mm2 = sum(each.area_mm2 for each in verdicts)
    depth_mm = max((each.depth_mm for each in verdicts), default=0.0)
    word = f"Below the base: {depth_mm:.2f} mm deep, {area_mm2:.0f} mm²" if area_mm2 > 0.0 else "Nothing below the base"
    say_live(f"Live · {word}")
