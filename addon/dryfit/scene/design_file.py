"""One design file, opened and read as it is: roles may be missing, keys may be elsewhere."""

from dataclasses import dataclass, replace
from pathlib import Path

from ..model.brief import Brief
from ..model.errors import UnreadableFile
from ..model.snapshot import Role
from .blender import blender
from .drivers import script_driver_notes
from .importing import IMPORTERS, SPLIT, import_mesh_file, left_out_notes
from .instances import with_instanced
from .linked_files import missing_library_notes, note_linked
from .opening import open_blend
from .scene_reading import SceneRead, read_scene
from .units import mm_per_unit
from .welding import welded

BLEND = ".blend"
NO_ROLES = "No roles are stated: every mesh of the file was taken as an appliance."


@dataclass(frozen=True)
class Opened:
    """A file that Blender has open: the millimetres in one of its units, and what to tell of how it was opened."""

    mm_per_unit: float
    notes: tuple[str, ...] = ()


def read_design(path: Path, brief: Brief) -> SceneRead:
    """Open one design and read it; keys that it lacks are left out of the motions.

    Raises
    ------
    InputError
        When the file cannot be read.
    """
    opened = open_design(path, brief)
    read = read_opened(path, brief, opened)
    if path.suffix.lower() == BLEND or read.snapshot.parts or brief.roles:
        return read
    roles = {Role.APPLIANCE: ("*",)}
    if brief.base.object:
        roles[Role.IGNORE] = (brief.base.object,)
    return read_opened(path, replace(brief, roles=roles), opened).noting(NO_ROLES)


def open_design(path: Path, brief: Brief) -> Opened:
    """Open a .blend or mesh file in place of the current one.

    Raises
    ------
    InputError
        When the file cannot be opened, or is in no known unit.
    """
    suffix = path.suffix.lower()
    if suffix == BLEND:
        notes = open_blend(path).notes
        opened = Opened(mm_per_unit(blender().context.scene), (*notes, *missing_library_notes()))
    elif suffix in IMPORTERS:
        opened = Opened(import_mesh_file(path, brief))
    else:
        known = ", ".join((BLEND, *IMPORTERS))
        raise UnreadableFile(str(path), f"'{suffix}' is not a kind of file that Blender reads here ({known})")
    note_linked(path)
    return opened


def read_opened(path: Path, brief: Brief, opened: Opened) -> SceneRead:
    """Read the file that was just opened.

    Raises
    ------
    InputError
        When its scene cannot be read.
    """
    context = blender().context
    read = read_scene(context, brief, path.stem, opened.mm_per_unit)
    if path.suffix.lower() in SPLIT:
        read = replace(read, snapshot=welded(read.snapshot))
    if path.suffix.lower() in IMPORTERS:
        read = read.noting(*left_out_notes(path))
    return read.noting(*opened.notes, *script_driver_notes(with_instanced(context.scene.objects)))
