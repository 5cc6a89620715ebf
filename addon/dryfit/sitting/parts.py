"""The parts of the open design: what has which role, by the brief beside the file or by the object; giving roles."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from ..model.errors import InputError
from ..model.snapshot import OWNABLE, Role
from ..scene.meshes import WITH_SURFACE
from ..scene.roles import OWN, ROLE, StatedRoles, as_played, is_own, played_roles, stored_role
from .brief_beside import STATED, brief_beside, brief_trouble
from .kept_properties import keep_property, keeping_refused

ROLE_ORDER = tuple(Role)


@dataclass(frozen=True)
class ListedPart:
    """An object of the scene and its role; ``briefed`` tells that the brief beside the file gives it.

    ``own`` tells whether it is the performer's own tooth or eye, ``own_briefed`` that the brief says of whom they are.
    """

    item: Any
    role: Role
    briefed: bool
    own: bool = False
    own_briefed: bool = False

    @property
    def ownable(self) -> bool:
        """Whether it can be the performer's own at all."""
        return self.role in OWNABLE


@dataclass(frozen=True)
class Assigned:
    """Names of the objects that were changed, and why others cannot be, a sentence each."""

    changed: tuple[str, ...]
    refused: tuple[str, ...]


def selectable_surfaces(context: Any) -> list[Any]:
    """Return the selected objects that have a surface; the active one where nothing is selected."""
    chosen = list(context.selected_objects) or [context.active_object]
    return [item for item in chosen if item is not None and item.type in WITH_SURFACE]


def listed_parts(scene: Any) -> list[ListedPart]:
    """Return the scene's objects with a known role, by role and name; ``roles_trouble`` tells what is left out."""
    return sorted(_parts(scene), key=lambda part: (ROLE_ORDER.index(part.role), part.item.name))


def _parts(scene: Any) -> Iterator[ListedPart]:
    """Yield the scene's objects with a known role as they come; panels ask at every redraw."""
    brief = brief_beside(quiet=True)
    stated = StatedRoles(brief)
    for item in scene.objects:
        try:
            briefed = stated.role_of(item)
            role = briefed or stored_role(item)
        except InputError:
            continue
        if role is not None:
            yield ListedPart(item, role, briefed is not None, is_own(item, role, brief), brief.teeth.own is not None)


def roles_trouble(scene: Any) -> str:
    """Return why the scene's roles cannot be read, or ``""``."""
    try:
        played_roles(scene.objects, brief_beside(quiet=True))
    except InputError as error:
        return str(error)
    return brief_trouble()


def part_names(scene: Any) -> dict[str, Any]:
    """Return the scene's objects by the name they have as parts."""
    return {each.name: each.object for each in as_played((part.item, part.role) for part in _parts(scene))}


def scene_base(scene: Any) -> Any | None:
    """Return the first object of the scene with the role ``base``, or None."""
    return next((part.item for part in _parts(scene) if part.role is Role.BASE), None)


def role_counts(scene: Any) -> dict[str, int]:
    """Return how many objects play each role."""
    roles = [part.role for part in _parts(scene)]
    return {role: roles.count(role) for role in ROLE_ORDER}


def assign_role(context: Any, items: Iterable[Any], role: str) -> Assigned:
    """Store a role on objects, or remove it where it is empty. A new base takes the role from the old one.

    Nothing is stored against the brief beside the file, which wins.
    """
    changed, refused = [], []
    briefed = [part for part in _parts(context.scene) if part.briefed]
    for item in items:
        why = _assigning_refused(item, role, briefed)
        if why:
            refused.append(f"{item.name}: {why}")
            continue
        if role == Role.BASE:
            _dethrone(context.scene, item)
        keep_property(item, ROLE, role)
        changed.append(item.name)
    _redraw(context)
    return Assigned(tuple(changed), tuple(refused))


def _assigning_refused(item: Any, role: str, briefed: Iterable[ListedPart]) -> str:
    """Return why a role cannot be stored on an object, or ``""``."""
    if any(part.item == item or (role == Role.BASE and part.role is Role.BASE) for part in briefed):
        return STATED
    return keeping_refused(item, ROLE) if role or ROLE in item else ""


def mark_own(context: Any, name: str, own: bool) -> str:
    """Mark an object's teeth or eye as the performer's own, or not; return why it could not be done, or ``""``."""
    part = next((part for part in _parts(context.scene) if part.item.name == name), None)
    if part is None or not part.ownable:
        return f"'{name}' has no role of teeth or eyes in this scene"
    why = STATED if part.own_briefed else keeping_refused(part.item, OWN)
    if not why:
        keep_property(part.item, OWN, own)
        _redraw(context)
    return why


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
