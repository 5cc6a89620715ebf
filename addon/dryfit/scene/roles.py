"""Which objects play which role: stored on the object, overridden by the brief."""

import difflib
import fnmatch
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from ..model.brief import Brief
from ..model.snapshot import Role
from .blender import BlenderObject
from .errors import TwoRoles, UnknownRole
from .meshes import WITH_SURFACE

ROLE = "dryfit_role"
WILDCARDS = "*?["


@dataclass(frozen=True)
class Played:
    """One object and the role it plays; ``name`` is unique in the scene, also among linked objects."""

    name: str
    role: Role
    object: BlenderObject


def played_roles(objects: Iterable[BlenderObject], brief: Brief) -> tuple[Played, ...]:
    """Return every object with a role, sorted by name.

    Raises
    ------
    UnknownRole
        When an object carries a role that does not exist.
    TwoRoles
        When the brief gives one object two.
    """
    found = [(item, role) for item in objects if (role := role_of(item, brief)) not in (None, Role.IGNORE)]
    found = [(item, role) for item, role in found if not _stands_for_children(item, role)]
    names = unique_names([item for item, _ in found])
    played = [Played(name, Role(role), item) for name, (item, role) in zip(names, found, strict=True) if role]
    return tuple(sorted(played, key=lambda each: each.name))


def _stands_for_children(item: BlenderObject, role: Role | None) -> bool:
    """Tell whether an object without a surface repeats the role of a mesh under it, as scene formats do."""
    return item.type not in WITH_SURFACE and any(
        child.type in WITH_SURFACE and child.get(ROLE) == role for child in item.children_recursive
    )


def unique_names(objects: Sequence[BlenderObject]) -> list[str]:
    """Return the objects' names; a linked one that shares its name says which file it is from."""
    names = [item.name for item in objects]
    return [
        f"{item.name} [{item.library.name}]" if item.library and names.count(item.name) > 1 else item.name
        for item in objects
    ]


def role_of(item: BlenderObject, brief: Brief) -> Role | None:
    """Return the object's role, or None.

    Raises
    ------
    UnknownRole, TwoRoles
    """
    stated = briefed_role(item.name, brief) if item.type in WITH_SURFACE else None
    return stated or stored_role(item)


def stored_role(item: BlenderObject) -> Role | None:
    """Return the role in the object's ID property, or None.

    Raises
    ------
    UnknownRole
    """
    stored = item.get(ROLE)
    if stored in (None, ""):
        return None
    if stored not in tuple(Role):
        nearest = difflib.get_close_matches(str(stored), tuple(Role), 1, cutoff=0.5)
        raise UnknownRole(item.name, stored, nearest[0] if nearest else "", tuple(Role))
    return Role(stored)


def briefed_role(name: str, brief: Brief) -> Role | None:
    """Return the role that the brief's most exact matching pattern gives, or None.

    Raises
    ------
    TwoRoles
        When two equally exact patterns give different ones.
    """
    matches = sorted(_matches(name, brief), key=lambda match: -match[0])
    if not matches:
        return None
    best = {role for exactness, role in matches if exactness == matches[0][0]}
    if len(best) > 1:
        first, second = sorted(best)[:2]
        raise TwoRoles(name, first, second, brief.source or "brief")
    return matches[0][1]


def _matches(name: str, brief: Brief) -> Iterator[tuple[float, Role]]:
    for role, patterns in brief.roles.items():
        for pattern in patterns:
            if name == pattern:
                yield float("inf"), role
            elif fnmatch.fnmatchcase(name, pattern):
                yield float(len(pattern) - sum(map(pattern.count, WILDCARDS))), role


def role_notes(objects: Iterable[BlenderObject], brief: Brief) -> Iterator[str]:
    """Tell which patterns of the brief match no object."""
    names = [item.name for item in objects if item.type in WITH_SURFACE]
    for role, patterns in brief.roles.items():
        for pattern in patterns:
            if pattern not in names and not fnmatch.filter(names, pattern):
                yield f"[roles] {role}: '{pattern}' matches no object."
