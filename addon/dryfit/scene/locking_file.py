"""Lock the base of a .blend file, from outside Blender."""

from dataclasses import dataclass
from pathlib import Path

from ..model.brief import Brief
from ..model.errors import UnreadableFile
from ..model.file_content import ChangedWhileRead, held_still
from ..model.snapshot import Lock
from .blender import blender
from .locking import store_lock
from .opening import files_to_open, open_blend_to_write
from .reading import base_to_lock
from .roles import the_base
from .saving import save_whole

ADVICE = "Lock it where it can be written, or copy it to a disk with room and lock the copy."


@dataclass(frozen=True)
class KeptLock:
    """The lock that was kept, and what else is different in the file, a sentence each."""

    lock: Lock
    notes: tuple[str, ...] = ()


def lock_file(path: Path, brief: Brief | None = None) -> KeptLock:
    """Keep the base of a .blend file, as it is now, in the file, and return the lock.

    The base is measured as a check measures it, with the file inert; then the file is opened as it is, gets the lock
    and is written beside and renamed, so it is the old one or the new one and never half of it.

    Raises
    ------
    UnreadableFile
        When it is no .blend file.
    MissingRole, TooManyBases
        When it has no base, or more than one.
    WritesWhenEvaluated
        When saving it would let it write files of its own.
    ChangedWhileRead
        When somebody else wrote to it meanwhile.
    UnwritableOutput
        When the file cannot be replaced.
    InputError
        When the base is no surface that could be measured.
    """
    if path.suffix.lower() != ".blend":
        raise UnreadableFile(str(path), "a lock is kept in a .blend file")
    if not path.is_file():
        raise UnreadableFile(str(path), "there is no such file")
    brief = brief or Brief()
    with held_still(path) as measured:
        base = base_to_lock(path, brief).base
    with files_to_open(path):
        with held_still(path) as opened:
            open_blend_to_write(path)
        if opened != measured:
            raise ChangedWhileRead(path)
        lock = store_lock(the_base(blender().context.scene.objects, brief, str(path)), base)
        return KeptLock(lock, save_whole(path, ADVICE, opened))
