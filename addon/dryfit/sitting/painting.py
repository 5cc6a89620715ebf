"""Which values are painted on which piece now, and the float attribute that carries them for shaders.

The attribute is ``dryfit_clearance`` and so on, a float on the points of the piece's own mesh, nan written as 0 with
``dryfit_measured`` telling where the value holds. Switched off, the attributes are gone.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from ..model.arrays import FloatArray
from ..scene.float_attributes import KNOWN, kept_attributes, write_known
from .found_paint import found_now
from .live_values import LiveValues, live_names, live_values
from .paintable import FIRST, FOUND, PAINTABLE
from .parts import part_names
from .room.room_fields import left_field
from .room.room_names import FIELDS as OF_ROOM
from .room.room_names import LEFT
from .stored_report import ARRAYS, StoredField, field_values, stored_fields

PREFIX = "dryfit_"
MEASURED = "dryfit_measured"
PAINT = frozenset({MEASURED, *(PREFIX + name for name in (*PAINTABLE, *dict(OF_ROOM), FOUND))})
"""Names of the attributes that paint may leave on a mesh."""


CLEARANCE = StoredField(
    key="", check="additive", name=FIRST, part="", unit="mm", label="Clearance to the base: below zero flesh would go",
    low=-5.0, high=5.0, limit=None, diverging=True, motion="", t=0.0, count=0,
)  # fmt: skip
"""How clearance is painted while strokes are followed and nothing was checked yet."""


@dataclass(frozen=True)
class Painted:
    """One piece with the values to paint on it; ``stamp`` changes whenever they or the surface do.

    ``live`` is where they come from while the piece is followed.
    """

    item: Any
    entry: StoredField
    values: FloatArray
    stamp: tuple[int, int]
    live: LiveValues | None = None


_unpacked: dict[tuple[str, str], tuple[int, FloatArray]] = {}
_changes: dict[str, int] = {}


def surface_changed(name: str) -> None:
    """Note that an object's surface changed, so that its paint is drawn again."""
    _changes[name] = _changes.get(name, 0) + 1


def forget_values() -> None:
    """Drop unpacked values, so that they are read from the file again."""
    _unpacked.clear()
    for name in _changes:
        _changes[name] += 1


def fields_named(scene: Any, name: str) -> tuple[StoredField, ...]:
    """Return the stored fields of one name, one a part, all on the same scale: one legend holds for every piece."""
    return on_one_scale(entry for entry in stored_fields(scene) if entry.name == name)


def on_one_scale(entries: Iterable[StoredField]) -> tuple[StoredField, ...]:
    """Return fields with the ends of their scales moved out to the furthest one's."""
    entries = tuple(entries)
    low = min((entry.low for entry in entries), default=0.0)
    high = max((entry.high for entry in entries), default=1.0)
    return tuple(replace(entry, low=low, high=high) for entry in entries)


def painted_now(scene: Any) -> list[Painted]:
    """Return every piece that the bench's chosen value is painted on."""
    if scene.dryfit.painted == FOUND:
        return _painted_place(scene)
    if scene.dryfit.painted == LEFT:
        return [_left_on(scene.objects[name]) for name in live_names(LEFT) if name in scene.objects]
    objects = part_objects(scene)
    painted = []
    for entry in fields_named(scene, scene.dryfit.painted):
        item = objects.get(entry.part)
        if item is not None:
            live = live_values(item.name) if entry.name == FIRST else None
            stamp, values = (live.stamp, live.values) if live else _values(scene, entry)
            painted.append(Painted(item, entry, values, (stamp, _changes.get(item.name, 0)), live))
    known = {each.item.name for each in painted}
    followed = [name for name in live_names() if name not in known] if scene.dryfit.painted == FIRST else []
    return painted + [_followed(scene, scene.objects[name]) for name in followed if name in scene.objects]


def _followed(scene: Any, item: Any) -> Painted:
    """Return a piece that is followed and that no check measured yet."""
    live = live_values(item.name)
    assert live is not None
    limit = -scene.dryfit.limits.additive_tolerance_mm
    entry = replace(CLEARANCE, part=item.name, count=len(live.values), limit=limit)
    return Painted(item, entry, live.values, (live.stamp, _changes.get(item.name, 0)), live)


def _left_on(item: Any) -> Painted:
    """Return a followed piece with what it has left of the room."""
    live = live_values(item.name, LEFT)
    assert live is not None
    entry = left_field(item.name, len(live.values))
    return Painted(item, entry, live.values, (live.stamp, _changes.get(item.name, 0)), live)


def _painted_place(scene: Any) -> list[Painted]:
    found = found_now(scene)
    if found is None:
        return []
    item, entry, values, stamp = found
    return [Painted(item, entry, values, (stamp, _changes.get(item.name, 0)))]


def _values(scene: Any, entry: StoredField) -> tuple[int, FloatArray]:
    packed = bytes(scene[ARRAYS][entry.key])
    stamp = hash(packed)
    key = (scene.name, entry.key)
    known = _unpacked.get(key)
    if known is None or known[0] != stamp:
        known = (stamp, field_values(scene, entry))
        _unpacked[key] = known
    return known


def part_objects(scene: Any) -> dict[str, Any]:
    """Return the scene's objects by the name they have as parts, and by the one they were measured under."""
    named = part_names(scene)
    known = set(named.values())
    measured = {each.name: each.subject for each in scene.dryfit.parts}
    return {**named, **{name: item for name, item in measured.items() if item in known}}


def refresh_attributes(scene: Any) -> tuple[str, ...]:
    """Bring the attributes in line with what the bench paints: written, or gone; return pieces that refuse them."""
    if scene.dryfit.paint:
        return write_attributes(scene)
    erase_attributes(scene)
    return ()


def write_attributes(scene: Any) -> tuple[str, ...]:
    """Write the painted values as attributes; return the pieces whose mesh cannot carry them."""
    erase_attributes(scene)
    refused = []
    for each in painted_now(scene):
        mesh = each.item.data
        if mesh.library is not None or each.item.mode != "OBJECT" or len(mesh.vertices) != len(each.values):
            refused.append(each.item.name)
            continue
        name = PREFIX + each.entry.name
        write_known(mesh, name, MEASURED, each.values)
        if name in kept_attributes(mesh):  # the same name where the unit is none: they stay a pair
            write_known(mesh, name, f"{name}_{KNOWN}", each.values)
    return tuple(refused)


def erase_attributes(scene: Any) -> int:
    """Remove the painted attributes from every mesh of the scene; return how many were removed."""
    count = 0
    for item in scene.objects:
        if item.type != "MESH" or item.data.library is not None or item.mode == "EDIT":
            continue
        mesh = item.data
        for name in [each.name for each in mesh.attributes if _is_paint(mesh, each)]:
            mesh.attributes.remove(mesh.attributes[name])
            count += 1
    return count


def _is_paint(mesh: Any, attribute: Any) -> bool:
    """Tell paint from values that were written to stay: those of stretch and exposure have the same name."""
    ours = attribute.name in PAINT and attribute.data_type == "FLOAT"
    return ours and attribute.name not in kept_attributes(mesh)
