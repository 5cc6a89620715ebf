r"""Files on other machines that an open .blend names, and never gets from there.

On Windows a path such as ``\\server\share\skin.png`` is a call to whoever answers by that name, and the call carries
the user's name and a proof of the password. A show may well keep its pictures on the server that the design itself lies
on; any other machine is a stranger's. Elsewhere such a path is a name like any other, and the same is done with it.

Libraries are read by Blender while it opens a file, before anything here is asked: see the guide.
"""

import re
from collections.abc import Iterator

from .blender import BlenderID, blender

SERVER = re.compile(r"^\\[\\/](?:[?.][\\/]UNC[\\/])?([^\\/]*)", re.IGNORECASE)
"""What stands first in a path to another machine. Two slashes are Blender's own for *beside the .blend*."""
OWN_DRIVE = re.compile(r"^\\[\\/]\?[\\/][A-Za-z]:")
"""A long path on a drive of this machine, as Windows writes it."""
READ_LATER = ("images", "volumes", "fonts", "sounds", "movieclips", "cache_files")
"""What is read when it is evaluated or rendered."""


def machine_of(path: str) -> str:
    r"""Return the name of the machine that a path calls, ``""`` for a file of this one.

    A device of this machine (``\\.\pipe\name``) counts as a machine of its own, which no design lies on.
    """
    found = SERVER.match(path)
    return found[1].lower() if found and not OWN_DRIVE.match(path) else ""


def forget_other_machines() -> tuple[str, ...]:
    """Take paths to other machines than the open file's own out of whatever reads them later; return them, with names.

    Call it when the file is read and nothing of it was evaluated yet.
    """
    own = machine_of(blender().data.filepath)
    return tuple(_forgotten(each) for each in _named_files() if machine_of(each.filepath) not in ("", own))


def _named_files() -> Iterator[BlenderID]:
    for kind in READ_LATER:
        yield from getattr(blender().data, kind)


def _forgotten(each: BlenderID) -> str:
    words = f"'{each.name}' ({each.filepath})"
    each.filepath = ""
    return words
