"""The parts of the open design: what has which role, and giving roles."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from ..model.snapshot import Role
from ..scene.meshes import WITH_SURFACE
from ..scene.roles import ROLE
from .kept_properties import keep_property, keeping_refused

ROLE_ORDER = tuple(role.value for role in Role)


@dataclass(frozen=True)
class Assigned:
    """Names of the objects that were changed, and why others cannot be, a sentence each."""

    changed: tuple[str, ...]
    refused: tuple[str, ...]


def selectable_surfaces(context: Any) -> list[Any]:
    """Return the selected objects that have a surface; the active one where nothing is selected."""
    chosen = list(context.selected_objects) or [context.active_object]
    return [item for item in chosen if item is not None and item.type in WITH_SURFACE]


def parts_of(scene: Any) -> list[Any]:
    """Return the scene's objects with a known role, by role and name."""
    parts = [item for item in scene.objects if item.get(ROLE) in ROLE_ORDER]
    return sorted(parts, key=lambda item: (ROLE_ORDER.index(item[ROLE]), item.name))


def role_counts(scene: Any) -> dict[str, int]:
    """Return how many objects play each role."""
    roles = [str(item.get(ROLE)) for item in scene.objects]
    return {role: roles.count(role) for role in ROLE_ORDER}


def assign_role(context: Any, items: Iterable[Any], role: str) -> Assigned:
    """Store a role on objects, or remove it where it is empty. A new base takes the role from the old one."""
    changed, refused = [], []
    for item in items:
        why = keeping_refused(item, ROLE) if role or ROLE in item else ""
        if why:
            refused.append(f"{item.name}: {why}")
            continue
        if role == Role.BASE:
            _dethrone(context.scene, item)
        keep_property(item, ROLE, role)
        changed.append(item.name)
    _redraw(context)
    return Assigned(tuple(changed), tuple(refused))


def _dethrone(scene: Any, chosen: Any) -> None:
    for item in scene.objects:
        if item != chosen and item.get(ROLE) == Role.BASE and not keeping_refused(item, ROLE):
            keep_property(item, ROLE, "")


def _redraw(context: Any) -> None:
    if context.area is not None:
        context.area.tag_redraw()


def select_part(context: Any, name: str) -> str:
    """Select an object and make it active; return why it could not be done, or ``""``."""
    layer = context.view_layer
    item = layer.objects.get(name)
    if item is None:
        return f"'{name}' is not in this view layer; show its collection first"
    if not item.visible_get(view_layer=layer):
        return f"'{name}' is hidden; show it first"
    if context.mode != "OBJECT":
        return "Leave the current mode first: Object Mode selects parts"
    for other in layer.objects:
        other.select_set(other == item, view_layer=layer)
    layer.objects.active = item
    return ""
