"""From a file or the open scene to a snapshot."""

import math
from contextlib import nullcontext
from dataclasses import replace
from pathlib import Path

from ..model.brief import Brief
from ..model.progress import Job, drain
from ..model.snapshot import Role, Snapshot
from .apart import read_apart, reads_apart
from .base_file import base_path, read_base
from .blender import BlenderContext, blender
from .design_file import read_design
from .locking import base_at_rest
from .opening import files_to_open, open_blend
from .roles import the_base
from .scene_reading import SceneRead, scene_in_turns, with_lost_motions
from .stated_base import on_stated_base
from .units import mm_per_unit


def read_snapshot(context: BlenderContext, brief: Brief | None = None, name: str = "") -> Snapshot:
    """Read the open scene and leave it exactly as it was, also when reading fails.

    Parameters
    ----------
    context
        ``bpy.context`` or the context of an operator.
    brief
        What overrides the scene's own roles, landmarks and motions; None for nothing.
    name
        The variant's name; by default that of the open file, or of the scene where it was never saved.

    Raises
    ------
    InputError
        When the scene cannot be read; the message says what, where and what to do.
    """
    return drain(snapshot_in_turns(context, brief, name))


def snapshot_in_turns(
    context: BlenderContext,
    brief: Brief | None = None,
    name: str = "",
    *,
    turn_seconds: float = math.inf,
    moving: bool = True,
) -> Job[Snapshot]:
    """Read the open scene as ``read_snapshot`` does, a step after each turn of so many seconds.

    Between turns the scene is as the user left it; whether it stayed the same is for the caller to ask. Where nothing
    is to move, motions are left out.

    Raises
    ------
    InputError
        When the scene cannot be read.
    """
    brief = brief or Brief()
    scene = context.scene
    stem = Path(blender().data.filepath).stem
    name, scale = name or stem or scene.name, mm_per_unit(scene)
    read = yield from scene_in_turns(context, brief, name, scale, turn_seconds=turn_seconds, moving=moving)
    return with_lost_motions(read)


def read_file(path: str | Path, brief: Brief | None = None) -> Snapshot:
    """Read a design from a .blend or a mesh file, in another process where Blender is not at work in this one yet.

    Else it is opened in place of whatever is open, and closed again.

    Parameters
    ----------
    path
        ``.blend`` (opened inert), or ``.obj .ply .stl .glb .gltf .usd* .fbx``.
    brief
        Roles, units of mesh files, and the base where the file has none.

    Raises
    ------
    InputError
        When the file cannot be read; the message says what, where and what to do.
    """
    path, brief = Path(path), brief or Brief()
    if reads_apart():
        return read_apart("design", path, brief)
    with files_to_open(path):
        read = read_design(path, brief)
        if not read.snapshot.with_role(Role.BASE):
            read = on_stated_base(read, path, brief)
    return replace(brief.with_landmarks(with_lost_motions(read)), source=str(path))


def on_base(design: Snapshot, path: Path, brief: Brief) -> Snapshot:
    """Return a saved design that has no base, on the one that the brief names.

    Blender opens the base, unless it is saved too.

    Raises
    ------
    InputError
        When the base cannot be read; the message says what, where and what to do.
    """
    saved = base_path(path, brief).suffix.lower() == ".npz"
    if not saved and reads_apart():
        return read_apart("base of a saved design", path, brief)
    with nullcontext() if saved else files_to_open(path):
        return on_stated_base(SceneRead(design, (), {}), path, brief).snapshot


def read_performer(path: str | Path, brief: Brief | None = None) -> Snapshot:
    """Read the performer alone: the file's own base, its only mesh, or the base that the brief names.

    Parameters
    ----------
    path, brief
        As for ``read_file``.

    Raises
    ------
    InputError
        When the file cannot be read, or it is not clear which object is the base.
    """
    path, brief = Path(path), brief or Brief()
    if reads_apart():
        return read_apart("performer", path, brief)
    with files_to_open(path):
        return read_base(path, brief).snapshot


def base_to_lock(path: Path, brief: Brief) -> Snapshot:
    """Read the base of a .blend alone, to be kept in it.

    Raises
    ------
    MissingRole, TooManyBases
    InputError
        When the file cannot be read, or the base is no surface that could be measured.
    """
    if reads_apart():
        return read_apart("base to lock", path, brief)
    with files_to_open(path):
        open_blend(path)
        context = blender().context
        base = base_at_rest(the_base(context.scene.objects, brief, str(path)), context, brief)
    return Snapshot(path.stem, parts=(base,))
