"""Which files of a folder are variants, and the folder each one's report goes into."""

import hashlib
import os
import re
from collections.abc import Iterable
from pathlib import Path

from ..design import READS
from ..model.brief import Brief
from ..model.errors import InputError
from ..model.part_files import is_part
from .trespass import shown_name

SAFE = re.compile(r"[^\w.\-]+", re.UNICODE)
PAGE = re.compile(r"index-\d+\.html")
"""Names that the further pages of a large batch take."""
LONGEST_NAME = 60


class NoVariants(InputError):
    """A folder without a single file to check."""

    def __init__(self, folder: Path) -> None:
        super().__init__(f"{folder}: no variant files. Dryfit reads {', '.join(READS)}.")


class NotAFolder(InputError):
    """A batch was asked for on something else than a folder."""

    def __init__(self, folder: Path) -> None:
        super().__init__(f"{folder}: there is no such folder.")


def variant_files(folder: Path, brief: Brief) -> tuple[Path, ...]:
    """Return a folder's variants in name order, links among them.

    The brief's base file is none, nor are hidden files and what a process that was killed left half written.

    Raises
    ------
    NotAFolder, NoVariants
        When there is nothing to check.
    """
    if not folder.is_dir():
        raise NotAFolder(folder)
    base = base_file(brief)
    found = tuple(
        path
        for path in sorted(folder.iterdir(), key=lambda path: path.name)
        if _may_be_variant(path) and not _is(path, base)
    )
    if not found:
        raise NoVariants(folder)
    return found


def _may_be_variant(path: Path) -> bool:
    hidden = path.name.startswith(".") or is_part(path.name)
    return not hidden and path.suffix.lower() in READS and (path.is_file() or path.is_symlink())


def _is(path: Path, base: Path | None) -> bool:
    return base is not None and os.path.realpath(path) == str(base)


def base_file(brief: Brief) -> Path | None:
    """Return the brief's base file, relative to the brief, or None where it names none."""
    return (Path(brief.source).parent / brief.base.file).resolve() if brief.base.file else None


def report_folders(files: Iterable[Path]) -> dict[Path, str]:
    """Return a plain folder name for each file; two never share one and none leaves its parent.

    Whatever is not a letter, digit, dot, dash or underscore becomes an underscore; a name that had to be changed,
    or that another file took, ends in a short hash of the file's name.
    """
    folders: dict[Path, str] = {}
    taken: set[str] = {"index.html", "batch.json", "batch.csv"}
    for path in files:
        plain = SAFE.sub("_", Path(shown_name(path)).stem).strip("._")[:LONGEST_NAME]
        if plain != path.stem or plain.lower() in taken or PAGE.fullmatch(plain.lower()):
            plain = f"{plain or 'variant'}-{hashlib.sha256(os.fsencode(path.name)).hexdigest()[:8]}"
        taken.add(plain.lower())
        folders[path] = plain
    return folders


def sharded(files: tuple[Path, ...], number: int, count: int) -> tuple[Path, ...]:
    """Return every ``count``-th file from the ``number``-th on, ``number`` counted from 1."""
    return files[number - 1 :: count]
