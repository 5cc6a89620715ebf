"""Save what is open as a .blend file that appears whole or not at all."""

import errno
import os
import shutil
from contextlib import suppress
from pathlib import Path

from ..model.errors import UnwritableOutput
from ..model.file_content import ChangedWhileRead, digest_now
from ..model.interrupt import held_stop
from ..model.part_files import part_beside, sweep_parts
from .blender import blender
from .quiet import quiet_output
from .reasons import one_line

NOT_PACKED = (
    "'Automatically Pack Resources' was on and is off in the file that was written: files that a design only names are "
    "not packed into it from outside Blender."
)


def save_whole(path: Path, advice: str, opened: str = "") -> tuple[str, ...]:
    """Write what is open to a .blend file, beside it first and then renamed; what is open stays what it is.

    Parameters
    ----------
    path
        The file.
    advice
        What to do where it cannot be written, a sentence.
    opened
        SHA-256 of the file that is open, where that same file is to be replaced: one that somebody saved meanwhile is
        never lost for it.

    Returns
    -------
    tuple of str
        What is different in the file beside what was asked for, a sentence each.

    Raises
    ------
    ChangedWhileRead
        When the file is another one than was opened.
    UnwritableOutput
        When it cannot be written; a file that was there is untouched.
    """
    beside = part_beside(path)
    sweep_parts([path.parent])
    notes = _keep_apart()
    try:
        _require_place(beside)
        with quiet_output(), held_stop():
            blender().ops.wm.save_as_mainfile(filepath=str(beside.resolve()), copy=True, check_existing=False)
        if opened and digest_now(path) != opened:
            raise ChangedWhileRead(path)
        beside.replace(path)
    except (FileNotFoundError, RuntimeError) as error:
        raise UnwritableOutput(str(path), _no_room(path) or _reason(error), advice) from error
    except OSError as error:
        raise UnwritableOutput(str(path), error.strerror or str(error), advice) from error
    finally:
        for left in (beside, beside.with_name(f"{beside.name}@")):
            with suppress(OSError):
                left.unlink(missing_ok=True)
    return notes


def _require_place(file: Path) -> None:
    """See whether anything can be written there, for Blender's own words hide why; what is there it would back up."""
    file.touch()
    file.unlink()


def _keep_apart() -> tuple[str, ...]:
    """Let nothing that the file only names be packed into it: a stranger's may name whatever lies on this disk."""
    data, path_list = blender().data, blender().utils.blend_paths
    if not (data.use_autopack and path_list(absolute=True, packed=False, local=False)):
        return ()
    data.use_autopack = False
    return (NOT_PACKED,)


def _no_room(path: Path) -> str:
    """Return that the disk is full where it is: Blender takes away what it wrote, and says that it is not there."""
    with suppress(OSError):
        if shutil.disk_usage(path.parent).free < Path(blender().data.filepath).stat().st_size:
            return os.strerror(errno.ENOSPC)
    return ""


def _reason(error: Exception) -> str:
    """Return the system's word out of Blender's, which names the file that is written beside."""
    return one_line(error).rpartition(": ")[2].rstrip(".") or "Blender did not write it"
