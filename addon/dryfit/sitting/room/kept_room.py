"""The room that was measured last, kept in the file as the results of checks are.

``scene["dryfit_room"]`` holds it as JSON: ``room`` in the layout of ``dryfit.room/1``, with ``sentences`` and ``kinds``
beside it. Its values over the skin lie with those of the report.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any

import numpy as np

from ...model.arrays import FloatArray, IntArray
from ...rooms.kinds import Kind, kinds_of
from ...rooms.room import Room
from ...rooms.skin import REACH_MM
from ...scene.cage import Cage, place_cage, place_lines
from ...scene.roles import CAGE
from ..stored_report import list_parts, store_fields, stored_array
from .room_fields import room_field, stops_field
from .room_names import CHECK, ROOM
from .room_prints import note_room

KEPT = "dryfit_room"
OUTWARD, STOPPED_BY, WHY = (f"{CHECK}/{name}" for name in ("outward", "stopped_by", "why"))


def store_room(
    scene: Any, base: str, room: Room, values: Mapping[str, Any], sentences: Mapping[str, Sequence[str]],
    prints: Mapping[str, str],
) -> None:  # fmt: skip
    """Keep a room in the scene, in place of an earlier one, and let its cage stand there.

    Parameters
    ----------
    base
        The name of the part it was measured on.
    values, sentences
        The room as JSON takes it, and in words.
    prints
        What it was measured from, taken when the scene was read.

    Raises
    ------
    InputError, OSError
        When the scene's roles cannot be read any more.
    """
    note_room(scene, prints)
    kinds, kind = kinds_of(room)
    count = len(room.vertices_mm)
    painted = np.where(room.told & (kind >= 0), kind, np.nan)
    fields = [(room_field(base, count), room.room_mm), (stops_field(base, count, len(kinds)), painted)]
    beside: dict[str, FloatArray | IntArray] = {
        OUTWARD: room.outward.ravel(),
        STOPPED_BY: room.stopped_by,
        WHY: room.why,
    }
    store_fields(scene, CHECK, fields, beside)
    kept = {"room": values, "sentences": sentences, "kinds": [asdict(each) for each in kinds], "why": room.reasons}
    scene[KEPT] = json.dumps(kept, ensure_ascii=False, allow_nan=False)
    list_parts(scene)
    bench = scene.dryfit
    bench.room_on, bench.room_outdated = datetime.now().strftime("%Y-%m-%d %H:%M"), ""
    place_lines(scene, {rim.name: rim.rim_mm for rim in room.rims})
    cage, before = Cage.over(room.vertices_mm, room.faces, room.outward, room.room_mm, REACH_MM), standing_cage(scene)
    bench.cage = place_cage(scene, cage, before)
    if before is None:
        hide_cage(scene, bench.cage)


def hide_cage(scene: Any, cage: Any) -> None:
    """Hide a new cage until it is asked for: it would lie over the map."""
    for layer in scene.view_layers:
        layer.update()
        if cage.name in layer.objects:
            cage.hide_set(True, view_layer=layer)


def kept_room(scene: Any) -> dict[str, Any]:
    """Return what is kept of the scene's room, or an empty dict."""
    try:
        kept = json.loads(scene.get(KEPT) or "{}")
    except (TypeError, ValueError):
        return {}
    return kept if isinstance(kept, dict) else {}


def kept_kinds(scene: Any) -> tuple[Kind, ...]:
    """Return what stops forms, in the order that the painted values count."""
    return tuple(Kind(**kind) for kind in kept_room(scene).get("kinds", ()))


def room_of(scene: Any) -> FloatArray:
    """Return the room at each vertex of the base, ``(n,)``, mm; nan where not known, empty where there is none."""
    return stored_array(scene, f"{CHECK}/{ROOM}")


def outward_of(scene: Any) -> FloatArray:
    """Return the directions that forms grow along, ``(n, 3)``; empty where there is no room."""
    return stored_array(scene, OUTWARD).reshape(-1, 3)


def standing_cage(scene: Any) -> Any | None:
    """Return the object that shows the room's cage, under whatever name; None where it was deleted."""
    cage = scene.dryfit.cage
    return cage if cage is not None and cage.get(CAGE) and cage.name in scene.objects else None


class StopWords:
    """Words for what stops a form at each vertex of the base, or for why that is not known.

    They are looked up once: a cursor that moves asks again and again.
    """

    def __init__(self, scene: Any) -> None:
        kept = kept_room(scene)
        self._stops = [stop["words"] for stop in kept.get("room", {}).get("stops", ())]
        self._reasons = list(kept.get("why", ()))
        self._by, self._why = stored_array(scene, STOPPED_BY), stored_array(scene, WHY)

    def at(self, vertex: int) -> str:
        """Return the words for one vertex; ``""`` where nothing stops a form within reach."""
        if not 0 <= vertex < len(self._by):
            return ""
        stop, why = int(self._by[vertex]), int(self._why[vertex])
        if 0 <= why < len(self._reasons):
            return f"not known: {self._reasons[why]}"
        return f"stopped by {self._stops[stop]}" if 0 <= stop < len(self._stops) else "nothing stops it within reach"
