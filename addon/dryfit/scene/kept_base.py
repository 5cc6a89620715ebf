"""The performer that was read last, kept for the next design on it: a batch reads one base for all its variants.

It is found again by the content of its file and what the brief states, never by its name alone.
"""

import hashlib
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from ..model.brief import Brief
from ..model.files_read import FilesRead, files_noted, note_files
from .base_file import read_base
from .scene_reading import SceneRead


@dataclass(frozen=True)
class _Asked:
    content: str
    stated: str
    file: Path
    brief: Brief = field(compare=False)


def kept_base(file: Path, brief: Brief) -> SceneRead:
    """Return what ``read_base`` does, read from the file only when it or the brief changed.

    Raises
    ------
    InputError
        As ``read_base``.
    """
    with file.open("rb") as stream:
        content = hashlib.file_digest(stream, "sha256").hexdigest()
    read, linked = _read(_Asked(content, repr(brief), file, brief))
    note_files(linked.paths, linked.all_known)
    return read


@lru_cache(maxsize=1)
def _read(asked: _Asked) -> tuple[SceneRead, FilesRead]:
    with files_noted() as linked:
        return read_base(asked.file, asked.brief), linked
