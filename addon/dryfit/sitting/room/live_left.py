"""What strokes leave of the room: measured on a followed piece where it moved, while it is painted."""

from collections.abc import Iterable
from typing import Any

import numpy as np

from ...geometry import Surface
from ...model.arrays import FloatArray, IntArray
from ...rooms.left import RoomLeft
from ..stored_report import stored_fields
from .kept_room import StopWords, outward_of, room_of
from .room_names import ROOM

AT_ONCE = 40_000
"""So many vertices are measured in one turn: a whole piece that was never looked at takes a few."""
OVER_MM = 0.005
"""What is written as 0.00 mm over is not over."""


class LeftOnPiece:
    """What one followed piece has left, and which of its vertices moved since that was measured.

    Attributes
    ----------
    left_mm
        ``(n,)``; nan where it is not known.
    foot
        The vertex of the base below each, ``(n,)``; -1 where that was not looked for yet.
    """

    def __init__(self, room: RoomLeft, count: int) -> None:
        self.room = room
        self.left_mm, self.foot = np.full(count, np.nan), np.full(count, -1)
        self._waiting = np.ones(count, dtype=bool)

    def note(self, moved: IntArray) -> None:
        """Note vertices that moved, ``(k,)``."""
        self._waiting[moved] = True

    def catch_up(self, vertices_mm: FloatArray) -> IntArray:
        """Measure what waits, as much as a turn allows, and return which vertices that was, ``(k,)``."""
        turn = np.flatnonzero(self._waiting)[:AT_ONCE]
        if len(turn):
            left = self.room.at(vertices_mm[turn])
            self.left_mm[turn], self.foot[turn] = left.left_mm, left.foot
            self._waiting[turn] = False
        return turn


def room_on(scene: Any, base: Surface) -> RoomLeft | None:
    """Return the scene's room over its base; None where there is none, or where it is of another skin."""
    entry = next((each for each in stored_fields(scene) if each.name == ROOM), None)
    room_mm, outward = room_of(scene), outward_of(scene)
    if entry is None or not len(room_mm) == len(outward) == len(base.vertices_mm):
        return None
    return RoomLeft(base, outward, room_mm)


def left_words(scene: Any, pieces: Iterable[LeftOnPiece]) -> str:
    """Return what Live says of the room that is left: the least of it, and what stops there."""
    least, foot = np.inf, -1
    for piece in pieces:
        if np.isfinite(piece.left_mm).any():
            lowest = int(np.nanargmin(piece.left_mm))
            if piece.left_mm[lowest] < least:
                least, foot = float(piece.left_mm[lowest]), int(piece.foot[lowest])
    if not np.isfinite(least):
        return "Room left: not known here"
    stop = StopWords(scene).at(foot)
    if least < -OVER_MM:
        return f"Over the room by {-least:.2f} mm, {stop}"
    return f"Nothing over the room; least left {max(least, 0.0):.2f} mm, {stop}"
