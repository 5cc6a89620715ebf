"""The performer that was read last, kept for the next design on it: a batch reads one base for all its variants.

It is found again by the content of its file, of those it draws on, and what the brief states, never by its name alone.
"""

from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from ..model.brief import Brief
from ..model.file_content import digest_of, require_digest
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
    asked = _Asked(require_digest(file), repr(brief), file, brief)
    read, linked, as_read = _read(asked)
    if as_read != _digests(linked):
        _read.cache_clear()
        read, linked, _ = _read(asked)
    note_files(linked.paths, linked.all_known)
    return read


@lru_cache(maxsize=1)
def _read(asked: _Asked) -> tuple[SceneRead, FilesRead, dict[Path, str]]:
    with files_noted() as linked:
        read = read_base(asked.file, asked.brief)
    return read, linked, _digests(linked)


def _digests(linked: FilesRead) -> dict[Path, str]:
    return {path: digest_of(path) for path in linked.paths}
