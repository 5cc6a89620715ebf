"""Which files a design was read from beside its own: libraries of a .blend, layers of USD, buffers of a .gltf.

Whoever opens a file notes them; whoever keeps a result asks, so that it can tell later whether they changed.
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from pathlib import Path


@dataclass
class FilesRead:
    """Files noted so far.

    Attributes
    ----------
    paths
        Absolute paths, also of files that were asked for and are missing.
    all_known
        False when a file was read that does not tell which others it draws on.
    """

    paths: set[Path] = field(default_factory=set)
    all_known: bool = True

    def note(self, paths: Iterable[Path], all_known: bool = True) -> None:
        """Note files, and whether they are all."""
        self.paths.update(path.absolute() for path in paths)
        self.all_known &= all_known


_noting: ContextVar[tuple[FilesRead, ...]] = ContextVar("files_read", default=())


@contextmanager
def files_noted() -> Iterator[FilesRead]:
    """Yield a record of the files that are noted until the block ends; an outer block's record gets them too."""
    noted = FilesRead()
    token = _noting.set((*_noting.get(), noted))
    try:
        yield noted
    finally:
        _noting.reset(token)


def note_files(paths: Iterable[Path], all_known: bool = True) -> None:
    """Note files that a design draws on, for everybody who asked; ``all_known`` is False when there may be more."""
    paths = list(paths)
    for noted in _noting.get():
        noted.note(paths, all_known)
