"""The performer of a base file, and a design put on it."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from ..model.brief import Brief, TeethBrief
from ..model.snapshot import OWNABLE, Motion, Part, Role, Snapshot
from ..model.snapshot_file import load_saved_snapshot
from ..model.unmatched import Unmatched
from .blender import blender
from .design_file import open_design, read_opened
from .errors import NoSuchObject, WhichBase
from .meshes import WITH_SURFACE
from .scene_reading import SceneRead

BODY = (Role.BASE, Role.EYE_LEFT, Role.EYE_RIGHT, Role.UPPER_TEETH, Role.LOWER_TEETH)
"""Roles that a base file contributes: the performer, not what another design wears."""
TEETH = (Role.UPPER_TEETH, Role.LOWER_TEETH)


def base_path(path: Path, brief: Brief) -> Path:
    """Return where the base file is: beside the brief, or beside the design where the brief is no file."""
    beside = Path(brief.source) if brief.source else path
    return beside.parent / brief.base.file


def read_base(file: Path, brief: Brief) -> SceneRead:
    """Read the performer from a base file.

    Raises
    ------
    NoSuchObject, WhichBase
        When it is not clear which object is the base.
    InputError
        When the file cannot be read.
    """
    name = brief.base.object
    if file.suffix.lower() == ".npz":
        saved = load_saved_snapshot(file)
        keys = {key for motion in saved.motions if motion in brief.motions for key in brief.motions[motion].keys}
        return SceneRead(body(saved, file, name), tuple(keys), {})
    opened = open_design(file, brief)
    read = read_opened(file, _base_brief(brief, name), opened)
    if not name and not read.snapshot.with_role(Role.BASE):
        name = only_mesh(file)
        read = read_opened(file, _base_brief(brief, name), opened)
    return replace(read, snapshot=body(read.snapshot, file, name))


def only_mesh(file: Path) -> str:
    """Return the name of the open scene's only object with a surface.

    Raises
    ------
    WhichBase
        When there are several, or none.
    """
    names = sorted(item.name for item in blender().context.scene.objects if item.type in WITH_SURFACE)
    if len(names) != 1:
        raise WhichBase(str(file), names)
    return str(names[0])


def body(snapshot: Snapshot, file: Path, name: str) -> Snapshot:
    """Return the performer alone: the named object as the base, or the one marked so, with eyes and teeth, its own.

    Raises
    ------
    NoSuchObject
        When there is no such object.
    """
    if name:
        if name not in {part.name for part in snapshot.parts}:
            raise NoSuchObject(str(file), name, meshes_in(snapshot, file))
        parts = [replace(part, role=Role.BASE) if part.name == name else part for part in snapshot.parts]
        one_base = tuple(part for part in parts if part.role is not Role.BASE or part.name == name)
        snapshot = replace(snapshot, parts=one_base)
    kept = [replace(part, own=part.role in OWNABLE) for part in snapshot.parts if part.role in BODY]
    return replace(snapshot, parts=tuple(kept), unmeasured=())


def meshes_in(snapshot: Snapshot, file: Path) -> list[str]:
    """Return the names to choose a base from."""
    if file.suffix.lower() == ".npz":
        return [part.name for part in snapshot.parts]
    return sorted(item.name for item in blender().context.scene.objects if item.type in WITH_SURFACE)


def _base_brief(brief: Brief, name: str) -> Brief:
    roles = {role: patterns for role, patterns in brief.roles.items() if role in BODY}
    if name:
        roles[Role.BASE] = (name,)
    return replace(brief, roles=roles, landmarks={}, proposed={}, teeth=TeethBrief())


def combined(base: Snapshot, design: Snapshot) -> Snapshot:
    """Return the design on the base, the design's own teeth in place of the base's.

    Landmarks and the lock are the base's; landmarks that it lacks come from the design.
    """
    worn = tuple(part for part in design.parts if part.name not in _names(base, Role.BASE))
    bare = tuple(part for part in base.parts if part.role not in TEETH or not design.with_role(part.role))
    named = _distinct_names(bare, worn, design.name)
    unsettled = {name: error for name, error in design.proposed.items() if name not in base.landmarks}
    return Snapshot(
        name=design.name,
        parts=(*bare, *(replace(part, name=named[part.name]) for part in worn)),
        landmarks={**design.landmarks, **base.landmarks},
        motions=joined_motions(base, design, named),
        cameras=(*design.cameras, *base.cameras),
        lock=base.lock,
        rims_mm={**base.rims_mm, **design.rims_mm},
        exceptions=(*base.exceptions, *design.exceptions),
        notes=(*design.notes, *base.notes),
        own=design.own,
        proposed={**unsettled, **base.proposed},
        unmatched=joined_unmatched(base, design),
        unmeasured=tuple(seen for seen in design.unmeasured if seen.name not in _names(base, Role.BASE)),
    )


def joined_unmatched(base: Snapshot, design: Snapshot) -> tuple[Unmatched, ...]:
    """Return what neither file has; of the performer's own roles the file of the base may have it."""
    lacking = {(each.role, each.entry): each for each in base.unmatched}
    return tuple(
        replace(each, counts=each.counts or lacking[each.role, each.entry].counts) if each.role in BODY else each
        for each in design.unmatched
        if each.role not in BODY or (each.role, each.entry) in lacking
    )


def _names(snapshot: Snapshot, *roles: Role) -> set[str]:
    return {part.name for part in snapshot.with_role(*roles)}


def _distinct_names(bare: Iterable[Part], worn: Iterable[Part], design: str) -> dict[str, str]:
    taken = {part.name for part in bare}
    return {part.name: f"{part.name} ({design})" if part.name in taken else part.name for part in worn}


def joined_motions(base: Snapshot, design: Snapshot, named: Mapping[str, str]) -> dict[str, Motion]:
    """Return every motion of both, the design's parts under their new names, at the key frames of both."""
    joined: dict[str, Motion] = {}
    for name in {**base.motions, **design.motions}:
        sides = [(base.motions.get(name), {}), (design.motions.get(name), named)]
        both = [(motion, names) for motion, names in sides if motion is not None]
        times = np.unique(np.concatenate([motion.frames_t for motion, _ in both]))
        frames = {
            names.get(part, part): np.stack([motion.vertices_at(part, t) for t in times])
            for motion, names in both
            for part in motion.frames_mm
            if names is not named or part in named
        }
        joined[name] = Motion(name, times, frames)
    return joined
