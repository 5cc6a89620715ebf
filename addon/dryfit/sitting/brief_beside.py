"""The brief.toml beside the open file, read again only when it changed on disk."""

from functools import lru_cache
from pathlib import Path

import bpy

from ..model.brief import Brief
from ..model.brief_reading import read_brief
from ..model.errors import InputError

BRIEF_NAME = "brief.toml"


def brief_path() -> Path | None:
    """Return the path of the brief beside the open file, or None."""
    if not bpy.data.filepath:
        return None
    path = Path(bpy.data.filepath).parent / BRIEF_NAME
    return path if path.is_file() else None


def brief_beside(quiet: bool = False) -> Brief:
    """Return the brief beside the open file, else the defaults.

    Parameters
    ----------
    quiet
        Return the defaults also where the brief cannot be read; a panel that draws cannot complain.

    Raises
    ------
    InputError
        When it cannot be read and ``quiet`` is False.
    """
    path = brief_path()
    if path is None:
        return Brief()
    try:
        return _read(str(path), path.stat().st_mtime_ns)
    except (InputError, OSError):
        if quiet:
            return Brief()
        raise


@lru_cache(maxsize=4)
def _read(path: str, _changed_ns: int) -> Brief:
    return read_brief(path)
