"""What a stored result was measured from, as a hash for each part: pose and frame do not count, the sculpt does.

A picture is rendered in any pose and at any frame; the design is the same. So the hashes are taken of what is stored,
not of what is shown: the mesh with its shape keys, modifiers, role, material and place, the landmarks, and the
figures it is held against. Animated and driven places are left out. Node groups of geometry nodes count by name only.
"""

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

import numpy as np

from ..model.brief import Brief
from ..model.brief_print import brief_print
from ..scene.locking import FINGERPRINT
from ..scene.meshes import areas
from ..scene.motions import MOTIONS
from ..scene.roles import Played, played_roles
from .open_design import scene_brief
from .surfaces import shown_vertices

MEASURED_FROM = "dryfit_measured_from"
MATERIAL = "dryfit_material"
LANDMARK = "dryfit_landmark"
DIGITS = 16
FIGURES, LANDMARKS, LOCK = "brief and limits", "landmarks", "the base's lock"
LOCK_CHECK = "base_lock"
PLAIN = ("BOOLEAN", "INT", "FLOAT", "STRING", "ENUM")
NOT_THE_SHAPE = ("show_expanded", "show_in_editmode", "show_on_cage", "show_render", "is_active", "use_pin_to_last")


def design_prints(scene: Any) -> dict[str, str]:
    """Return a hash of every part of the design, of its landmarks and of the figures it is held against.

    Raises
    ------
    InputError
        When roles or figures that the scene states cannot be read.
    """
    brief = scene_brief(scene)
    played = played_roles(scene.objects, brief)
    return {
        **{each.name: _digest(_part_pieces(each)) for each in played},
        LANDMARKS: _digest(_landmark_pieces(scene)),
        FIGURES: _digest(_figure_pieces(scene, brief)),
        LOCK: _digest(str(each.object.get(FINGERPRINT)).encode() for each in played),
    }


def note_measured(scene: Any, checks: Iterable[str]) -> None:
    """Remember what the checks that were just run were measured from.

    Raises
    ------
    InputError
    """
    now = design_prints(scene)
    scene[MEASURED_FROM] = json.dumps({**measured_from(scene), **dict.fromkeys(checks, now)})


def measured_from(scene: Any) -> dict[str, Mapping[str, str]]:
    """Return what each check was measured from; empty where nothing was noted."""
    try:
        values = json.loads(scene.get(MEASURED_FROM) or "{}")
    except (TypeError, ValueError):
        return {}
    return {check: dict(prints) for check, prints in values.items()} if isinstance(values, dict) else {}


def changed_since(check: str, then: Mapping[str, str], now: Mapping[str, str]) -> tuple[str, ...]:
    """Return the names of what differs for a check, came or went, sorted; the lock counts for ``base_lock`` alone."""
    counted = {*then, *now} - ({LOCK} if check != LOCK_CHECK else set())
    return tuple(sorted(name for name in counted if then.get(name) != now.get(name)))


def _digest(pieces: Iterable[bytes]) -> str:
    digest = hashlib.sha256()
    for piece in pieces:
        digest.update(len(piece).to_bytes(8, "little"))
        digest.update(piece)
    return digest.hexdigest()[:DIGITS]


def _figure_pieces(scene: Any, brief: Brief) -> Iterator[bytes]:
    yield brief_print(brief).encode()
    yield str(scene.get(MOTIONS) or "").encode()
    yield repr(round(scene.unit_settings.scale_length, 9)).encode()


def _landmark_pieces(scene: Any) -> Iterator[bytes]:
    marks = [item for item in scene.objects if item.get(LANDMARK)]
    for item in sorted(marks, key=lambda item: str(item[LANDMARK])):
        yield f"{item[LANDMARK]} {_place(item)}".encode()


def _part_pieces(each: Played) -> Iterator[bytes]:
    item = each.object
    yield f"{each.role} {item.get(MATERIAL)} {_place(item)}".encode()
    if item.mode == "EDIT":
        item.update_from_editmode()
    yield from _surface_pieces(item)
    yield from _key_pieces(item)
    for modifier in item.modifiers:
        yield repr(_settings(modifier)).encode()


def _surface_pieces(item: Any) -> Iterator[bytes]:
    mesh = item.data if item.type == "MESH" else item.to_mesh()
    if mesh is None:
        return
    yield shown_vertices(mesh).tobytes()
    corners = np.empty(len(mesh.loops), np.int32)
    mesh.loops.foreach_get("vertex_index", corners)
    yield corners.tobytes()
    for name, weights in sorted(areas(item, mesh).items()):
        yield name.encode() + weights.tobytes()
    if item.type != "MESH":
        item.to_mesh_clear()


def _key_pieces(item: Any) -> Iterator[bytes]:
    keys = getattr(item.data, "shape_keys", None)
    for block in keys.key_blocks if keys is not None and item.type == "MESH" else ():
        points = np.empty(len(block.data) * 3, np.float32)
        block.data.foreach_get("co", points)
        yield f"{block.name} {block.vertex_group} {block.relative_key.name}".encode() + points.tobytes()


def _place(item: Any) -> str:
    """Return where an object stands relative to its parent; ``""`` where that is animated, driven or constrained."""
    if len(item.constraints) or _is_moved(item.animation_data) or item.parent_type == "BONE":
        return ""
    rows = [tuple(row) for matrix in (item.matrix_basis, item.matrix_parent_inverse) for row in matrix]
    return repr((item.parent.name if item.parent else "", rows))


def _is_moved(data: Any) -> bool:
    return data is not None and bool(data.action is not None or len(data.drivers) or len(data.nla_tracks))


def _settings(modifier: Any) -> dict[str, Any]:
    """Return what a modifier is set to, as far as it is plain values; what it points to counts by name."""
    values: dict[str, Any] = {}
    for each in modifier.bl_rna.properties:
        if each.identifier in NOT_THE_SHAPE or (each.is_readonly and each.type in PLAIN and each.identifier != "type"):
            continue
        value = getattr(modifier, each.identifier)
        if each.type == "POINTER":
            values[each.identifier] = getattr(value, "name", "")
        elif each.type in PLAIN:
            values[each.identifier] = _plain(value)
    return values


def _plain(value: Any) -> Any:
    """Return sets in order and arrays as lists, so that the same settings always read the same."""
    if isinstance(value, set):
        return sorted(value)
    return value if isinstance(value, str) or not hasattr(value, "__iter__") else list(value)
