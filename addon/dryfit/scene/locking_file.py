"""Lock the base of a .blend file, from outside Blender."""

from pathlib import Path

from ..model.brief import Brief
from ..model.errors import UnreadableFile
from ..model.snapshot import Lock
from .blender import blender
from .locking import lock_base
from .opening import files_to_open, open_blend
from .roles import the_base
from .saving import save_whole


def lock_file(path: Path, brief: Brief | None = None) -> Lock:
    """Keep the base of a .blend file, as it is now, in the file, and return the lock.

    The file is written beside and renamed, so it is the old one or the new one and never half of it.

    Raises
    ------
    UnreadableFile
        When it is no .blend file.
    MissingRole, TooManyBases
        When it has no base, or more than one.
    UnwritableOutput
        When the file cannot be replaced.
    InputError
        When the base is no surface that could be measured.
    """
    if path.suffix.lower() != ".blend":
        raise UnreadableFile(str(path), "a lock is kept in a .blend file")
    if not path.is_file():
        raise UnreadableFile(str(path), "there is no such file")
    with files_to_open(path):
        open_blend(path)
        item = the_base(blender().context.scene.objects, brief or Brief(), str(path))
        lock = lock_base(item, blender().context, brief)
        save_whole(path)
    return lock
