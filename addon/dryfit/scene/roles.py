"""Which objects play which role: stored on the object, overridden by the brief."""

import difflib
import fnmatch
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from ..model.brief import Brief
from ..model.errors import MissingRole, TooManyBases
from ..model.snapshot import OWNABLE, Role
from ..model.unmatched import Unmatched
from .blender import BlenderObject, BlenderScene
from .errors import TwoRoles, UnknownRole
from .instances import with_instanced
from .meshes import WITH_SURFACE, WITHOUT_SURFACE

ROLE = "dryfit_role"
OWN = "dryfit_own"
CAGE = "dryfit_cage"
"""Marks the skin at the room's height, and every copy of it: it is no part, whatever a brief's patterns match."""
WILDCARDS = "*?["

Patterns = tuple[tuple[Role, tuple[str, ...]], ...]


@dataclass(frozen=True)
class Played:
    """One object and the role it plays; ``name`` is unique in the scene, also among linked objects.

    ``own`` tells whether it is the performer's own tooth or eye.
    """

    name: str
    role: Role
    object: BlenderObject
    own: bool = False


def played_roles(objects: Iterable[BlenderObject], brief: Brief) -> tuple[Played, ...]:
    """Return every object with a role, sorted by name.

    Raises
    ------
    UnknownRole
        When an object carries a role that does not exist.
    TwoRoles
        When the brief gives one object two.
    """
    stated = StatedRoles(brief)
    played = as_played((item, role) for item in objects if (role := role_of(item, stated)) is not None)
    return tuple(replace(each, own=is_own(each.object, each.role, brief)) for each in played)


def as_played(found: Iterable[tuple[BlenderObject, Role]]) -> tuple[Played, ...]:
    """Return objects with their roles under the names that they have as parts, sorted; ignored ones are left out."""
    counted = [(item, role) for item, role in found if _is_part(item, role)]
    names = unique_names([item for item, _ in counted])
    played = [Played(name, role, item) for name, (item, role) in zip(names, counted, strict=True)]
    return tuple(sorted(played, key=lambda each: each.name))


def is_own(item: BlenderObject, role: Role, brief: Brief) -> bool:
    """Tell whether teeth or an eye are the performer's own: by the brief where it says so of any, else by itself."""
    if role not in OWNABLE:
        return False
    return bool(item.get(OWN)) if brief.teeth.own is None else brief.teeth.says_own(item.name)


def the_base(objects: Iterable[BlenderObject], brief: Brief, source: str) -> BlenderObject:
    """Return the one object that is the base; ``source`` names the scene or file in complaints.

    Raises
    ------
    MissingRole, TooManyBases
        When there is none, or more than one.
    UnknownRole, TwoRoles
    """
    bases = [each.object for each in played_roles(objects, brief) if each.role is Role.BASE]
    if not bases:
        raise MissingRole("base", source)
    if len(bases) > 1:
        raise TooManyBases([item.name for item in bases], source)
    return bases[0]


def is_nameable(item: BlenderObject) -> bool:
    """Tell whether a brief may give an object a role: it is seen, or shows a collection in its place."""
    return item.type in (*WITH_SURFACE, *WITHOUT_SURFACE) or item.instance_type == "COLLECTION"


def _is_part(item: BlenderObject, role: Role) -> bool:
    """Tell whether an object with a role is measured itself: ignored ones, hair, and what only shows others is not."""
    if role is Role.IGNORE or item.type in WITHOUT_SURFACE:
        return False
    shows_others = item.type not in WITH_SURFACE and item.instance_type != "NONE"
    return not shows_others and not _stands_for_children(item, role)


def _stands_for_children(item: BlenderObject, role: Role) -> bool:
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


def role_of(item: BlenderObject, stated: "StatedRoles") -> Role | None:
    """Return the object's role, or None.

    Raises
    ------
    UnknownRole, TwoRoles
    """
    return stated.role_of(item) or stored_role(item)


class StatedRoles:
    """The roles that a brief gives, by patterns of names; asked for every object of a scene at every redraw."""

    def __init__(self, brief: Brief) -> None:
        self.source = brief.source or "brief"
        self.patterns: Patterns = tuple((role, tuple(patterns)) for role, patterns in brief.roles.items())

    def role_of(self, item: BlenderObject) -> Role | None:
        """Return the role that the most exact matching pattern gives an object that is seen, or None.

        What is not seen and has a role of its own can only be ignored. A cage is named by none.

        Raises
        ------
        TwoRoles
            When two equally exact patterns give different ones.
        """
        if not self.patterns or item.get(CAGE):
            return None
        if is_nameable(item):
            return self.role_of_name(item.name)
        ignored = item.get(ROLE) and self.role_of_name(item.name) is Role.IGNORE
        return Role.IGNORE if ignored else None

    def role_of_name(self, name: str) -> Role | None:
        """Return the role that the most exact matching pattern gives a name, or None.

        Raises
        ------
        TwoRoles
            When two equally exact patterns give different ones.
        """
        best = _best_matches(name, self.patterns)
        if len(best) > 1:
            raise TwoRoles(name, best[0], best[1], self.source)
        return best[0] if best else None


def stored_role(item: BlenderObject) -> Role | None:
    """Return the role in the object's ID property, or None.

    Raises
    ------
    UnknownRole
    """
    stored = item.get(ROLE)
    if stored in (None, ""):
        return Role.IGNORE if item.get(CAGE) else None
    if stored not in tuple(Role):
        nearest = difflib.get_close_matches(str(stored), tuple(Role), 1, cutoff=0.5)
        raise UnknownRole(item.name, stored, nearest[0] if nearest else "", tuple(Role))
    return Role(stored)


@lru_cache(maxsize=1 << 14)
def _best_matches(name: str, roles: Patterns) -> tuple[Role, ...]:
    """Return the roles of the most exact patterns that match, sorted."""
    matches = tuple(_matches(name, roles))
    most = max((exactness for exactness, _ in matches), default=0.0)
    return tuple(sorted({role for exactness, role in matches if exactness == most}))


def _matches(name: str, roles: Patterns) -> Iterator[tuple[float, Role]]:
    for role, patterns in roles:
        for pattern in patterns:
            if name == pattern:
                yield float("inf"), role
            elif fnmatch.fnmatchcase(name, pattern):
                yield float(len(pattern) - sum(map(pattern.count, WILDCARDS))), role


def unmatched_roles(
    objects: Sequence[BlenderObject], brief: Brief, sources: Iterable[BlenderObject] = ()
) -> tuple[Unmatched, ...]:
    """Return the names and patterns under ``[roles]`` that match nothing in a scene.

    Parameters
    ----------
    objects
        The scene's; those of the collections that they instance count too.
    brief
        What states roles.
    sources
        What else instances show.
    """
    every = with_instanced(objects)
    names = [name for item in (*every, *sources) for name in _nameable(item)]
    return tuple(each for role, entries in brief.roles.items() for each in _unmatched(role, entries, names, every))


def _nameable(item: BlenderObject) -> Iterator[str]:
    """Yield the names by which a brief may call an object, or its hair."""
    if is_nameable(item) or item.get(ROLE):
        yield item.name
    yield from (system.name for system in item.particle_systems)


def _unmatched(
    role: Role, entries: Sequence[str], names: Sequence[str], objects: Iterable[BlenderObject]
) -> Iterator[Unmatched]:
    lacking = [entry for entry in entries if entry not in names and not fnmatch.filter(names, entry)]
    for entry in lacking:
        promised = not any(sign in entry for sign in WILDCARDS)
        overruled = len(lacking) == len(entries) and any(item.get(ROLE) == role for item in objects)
        nearest = difflib.get_close_matches(entry.strip("*"), sorted({*names}), 1, cutoff=0.7)
        counts = role is not Role.IGNORE and (promised or overruled)
        yield Unmatched(str(role), entry, nearest[0] if nearest else "", counts)


def other_scene_notes(scene: BlenderScene, scenes: Iterable[BlenderScene], brief: Brief) -> Iterator[str]:
    """Tell which pieces stand in other scenes of the file alone: one scene is measured.

    Raises
    ------
    UnknownRole, TwoRoles
    """
    here = {item.session_uid for item in with_instanced(scene.objects)}
    for other in scenes:
        apart = [item for item in other.objects if item.session_uid not in here]
        names = [each.name for each in played_roles(apart, brief)]
        if other != scene and names:
            yield f"Only the scene '{scene.name}' was measured; in '{other.name}' are {', '.join(names)}."


def own_teeth_notes(objects: Iterable[BlenderObject], brief: Brief) -> Iterator[str]:
    """Tell which patterns of the performer's own teeth match no object."""
    names = [item.name for item in with_instanced(objects) if is_nameable(item)]
    for pattern in brief.teeth.own or ():
        if not fnmatch.filter(names, pattern):
            yield f"[teeth] own: '{pattern}' matches no object."
