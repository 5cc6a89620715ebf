"""The brief beside the open file, read again only when it changed on disk."""

from functools import lru_cache
from pathlib import Path

import bpy

from ..model.brief import Brief
from ..model.brief_file import BRIEF_NAME, brief_path_for
from ..model.brief_reading import read_brief
from ..model.errors import InputError

STATED = f"{BRIEF_NAME} beside the file states it, and wins: change it there"
"""Why the sidebar does not change something."""
DEFAULTS = Brief()

Outcome = tuple[Brief, InputError | OSError | None]
"""A brief, or the defaults and why there is no other."""


def brief_path() -> Path | None:
    """Return the path of the brief beside the open file, or None."""
    return brief_path_for(bpy.data.filepath) if bpy.data.filepath else None


def brief_beside(quiet: bool = False) -> Brief:
    """Return the brief beside the open file, else the defaults.

    Parameters
    ----------
    quiet
        Return the defaults also where the brief cannot be read; a panel that draws cannot complain.

    Raises
    ------
    InputError, OSError
        When it cannot be read and ``quiet`` is False.
    """
    brief, error = _outcome()
    if error is not None and not quiet:
        raise error.with_traceback(None)
    return brief


def brief_trouble() -> str:
    """Return why the brief beside the open file cannot be read, or ``""``."""
    return str(_outcome()[1] or "")


def _outcome() -> Outcome:
    path = brief_path()
    if path is None:
        return DEFAULTS, None
    try:
        return _read(str(path), path.stat().st_mtime_ns)
    except OSError as error:
        return DEFAULTS, error


@lru_cache(maxsize=4)
def _read(path: str, _changed_ns: int) -> Outcome:
    try:
        return read_brief(path), None
    except InputError as error:
        return DEFAULTS, error
