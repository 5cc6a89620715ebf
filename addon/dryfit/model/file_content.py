"""Files by their content: a hash each, worked out once for each state of a file."""

import errno
import hashlib
import os
import stat
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path

from .errors import InputError, UnreadableFile


class ChangedWhileRead(InputError):
    """A file that somebody wrote to while it was read."""

    def __init__(self, file: Path) -> None:
        super().__init__(
            f"{file}: it changed while it was read, so what was read is neither the old file nor the new one. "
            "Ask again when nothing writes to it."
        )


def digest_of(file: Path) -> str:
    """Return a file's SHA-256, or ``""`` where there is no file that can be read."""
    try:
        return require_digest(file)
    except OSError:
        return ""


def require_digest(file: Path) -> str:
    """Return a file's SHA-256.

    Raises
    ------
    OSError
        When it cannot be read.
    """
    state = file.stat()
    return _digest(str(file), state.st_mtime_ns, state.st_size)


def digest_now(file: Path) -> str:
    """Return a file's SHA-256, read now whatever its date says, or ``""`` where there is no file that can be read."""
    try:
        return _content_digest(file)
    except OSError:
        return ""


@contextmanager
def held_still(file: Path) -> Iterator[str]:
    """Yield a file's SHA-256 to whoever reads it, and see afterwards that it is still the same file.

    Raises
    ------
    UnreadableFile
        When it cannot be read at all.
    ChangedWhileRead
        When it is another one afterwards, or gone.
    """
    try:
        before = _content_digest(file)
    except OSError as error:
        raise UnreadableFile(str(file), error.strerror or str(error)) from error
    yield before
    try:
        after = _content_digest(file)
    except OSError as error:
        raise ChangedWhileRead(file) from error
    if after != before:
        raise ChangedWhileRead(file)


@lru_cache(maxsize=4096)
def _digest(file: str, changed_ns: int, size: int) -> str:
    return _content_digest(Path(file))


def _content_digest(file: Path) -> str:
    """Hash a file; a device or a pipe, which may have no end, is none.

    Raises
    ------
    OSError
    """
    if not stat.S_ISREG(file.stat().st_mode):
        raise OSError(errno.EINVAL, "it is a device or a pipe, not a file", str(file))
    with file.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def digests_beside(folder: Path, files: Iterable[Path]) -> dict[str, str]:
    """Return files, relative to a folder and in the order of their names, with their hashes.

    A relative path keeps its meaning when a show is moved as a whole, or mounted elsewhere on another machine.
    """
    named = {_relative(file, folder): file for file in files}
    return {name: digest_of(named[name]) for name in sorted(named)}


def _relative(file: Path, folder: Path) -> str:
    try:
        return os.path.relpath(file, folder).replace(os.sep, "/")
    except ValueError:  # on another drive
        return str(file)
