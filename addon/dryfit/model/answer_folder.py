"""Kept answers in a folder: found again by the next run, and by every process of a batch."""

import hashlib
import importlib.util
import os
import platform
from collections.abc import Iterator
from contextlib import suppress
from functools import cache
from pathlib import Path
from threading import Lock
from typing import Any

import numpy as np

from .part_files import part_beside, sweep_parts
from .trusted_pickle import NotTrusted, least_bytes, packed, unpacked_value

VARIABLE = "DRYFIT_CACHE"
"""Environment variable that names the folder; ``0`` or nothing keeps no answers on disk."""
SIZE_VARIABLE = "DRYFIT_CACHE_MB"
MOST_MB = 2000.0
"""What the folder may hold where ``DRYFIT_CACHE_MB`` says nothing: ten full designs, about."""
SWEPT_SHARE = 0.8
"""What is left once it was too much: the answers used last."""
SWEEP_SHARE = 0.1
"""The folder is measured again after so much of its size was written by this process."""
LEAST_S = 0.004
LEAST_S_PER_MB = 0.005
"""An answer that is worked out sooner than this, or than it is read again, is not written."""
DIGEST = hashlib.sha256
ENDING = ".answer"
CODE = (".py", ".so", ".dylib", ".dll", ".npz")
"""What decides about answers: code, the kernel, the template that landmarks are proposed from."""


class AnswerFolder:
    """Answers in files of their own, named by the content of what was asked and by the code that answered.

    Nothing here is needed: a file that is missing, damaged, or of another's making is worked out again, and a disk
    that is full is left alone. Safe for any number of processes and threads, on network folders too; that, and that
    nothing but numpy is to be had inside Blender, is why this is no database.

    Parameters
    ----------
    place
        The folder; made where it is missing, for this user alone.
    most_mb
        What it may hold; what was used longest ago goes first.
    """

    def __init__(self, place: Path, most_mb: float = MOST_MB) -> None:
        self.place = place
        self._most_bytes = most_mb * 1e6
        self._unswept = float("inf")
        self._lock = Lock()

    def read(self, key: bytes) -> tuple[Any] | None:
        """Return the answer that was written under a key, in a tuple of its own; None where there is none."""
        file = self._file(key)
        try:
            content = file.read_bytes()
        except OSError:
            return None
        digest, body = content[: DIGEST().digest_size], memoryview(content)[DIGEST().digest_size :]
        try:
            if DIGEST(body).digest() != digest:
                raise NotTrusted("its digest")
            answer = (unpacked_value(body),)
        except NotTrusted:
            with suppress(OSError):
                file.unlink()
            return None
        with suppress(OSError):
            os.utime(file)  # used last now
        return answer

    def write(self, key: bytes, answer: object, seconds: float) -> None:
        """Write an answer that took some seconds, where reading it is quicker and it is of a kind that can be read."""
        if seconds < max(LEAST_S, LEAST_S_PER_MB * least_bytes(answer) / 1e6):
            return  # also what is not packed is not: that takes as long, and memory
        body = packed(answer)
        if body is None or seconds < LEAST_S_PER_MB * len(body) / 1e6 or len(body) > self._most_bytes:
            return
        file = self._file(key)
        part = part_beside(file)
        try:
            self.place.mkdir(mode=0o700, parents=True, exist_ok=True)
            self._sweep_at_times(len(body))
            with part.open("wb") as stream:
                stream.writelines((DIGEST(body).digest(), body))
            part.replace(file)
        except OSError:
            pass
        finally:
            with suppress(OSError):
                part.unlink(missing_ok=True)

    def clear(self) -> int:
        """Take every answer away; return how many there were."""
        files = [file for file, _, _ in self._files()]
        for file in files:
            with suppress(OSError):
                file.unlink()
        return len(files)

    @property
    def most_mb(self) -> float:
        """What the folder may hold, MB."""
        return self._most_bytes / 1e6

    def held_mb(self) -> float:
        """Return what the folder holds, MB."""
        return sum(size for _, _, size in self._files()) / 1e6

    def _file(self, key: bytes) -> Path:
        return self.place / f"{DIGEST(key + code_print()).hexdigest()}{ENDING}"

    def _files(self) -> Iterator[tuple[Path, float, int]]:
        """Yield each answer's file, when it was used last, and its bytes."""
        with suppress(OSError):
            for file in self.place.glob(f"*{ENDING}"):
                with suppress(OSError):
                    state = file.stat()
                    yield file, state.st_mtime, state.st_size

    def _sweep_at_times(self, new_bytes: int) -> None:
        """Take the answers used longest ago away where there are too many; look at that only now and then."""
        with self._lock:
            self._unswept += new_bytes
            if self._unswept < SWEEP_SHARE * self._most_bytes:
                return
            self._unswept = 0.0
        sweep_parts([self.place])
        files = sorted(self._files(), key=lambda each: each[1])
        held = sum(size for _, _, size in files)
        if held <= self._most_bytes:
            return
        for file, _, size in files:
            with suppress(OSError):
                file.unlink()
            held -= size
            if held <= SWEPT_SHARE * self._most_bytes:
                return


@cache
def code_print() -> bytes:
    """Return a digest of all that answers depend on beside what is asked: this code, the kernel, Python and numpy."""
    digest = DIGEST(f"{platform.python_version()} {np.__version__} {platform.machine()} {platform.system()}".encode())
    digest.update(os.environ.get("DRYFIT_KERNEL", "").encode())
    for place in _code_places():
        for file in sorted(place.rglob("*")) if place.is_dir() else [place]:
            if file.suffix in CODE and file.is_file():
                digest.update(f"{file.relative_to(place)}".encode())
                digest.update(DIGEST(file.read_bytes()).digest())
    return digest.digest()


def _code_places() -> Iterator[Path]:
    """Yield this package, and wherever else a kernel may come from: a file that is named, a package of its own."""
    yield Path(__file__).resolve().parent.parent
    named = Path(os.environ.get("DRYFIT_KERNEL", ""))
    if named.is_file():
        yield named
    found = importlib.util.find_spec("dryfit_kernel")
    yield from map(Path, (found.submodule_search_locations or ()) if found else ())


@cache
def folder_at(place: str, most: str) -> AnswerFolder:
    """Return the one of this process for a place and a size as the environment has them."""
    try:
        most_mb = float(most)
    except ValueError:
        most_mb = MOST_MB
    return AnswerFolder(Path(place), most_mb if most_mb >= 0.0 else MOST_MB)


def shared_folder() -> AnswerFolder | None:
    """Return the folder that the environment names; None where it names none, or somebody else's."""
    place = os.environ.get(VARIABLE, "")
    if place in ("", "0") or not _is_own(Path(place)):
        return None
    return folder_at(place, os.environ.get(SIZE_VARIABLE, ""))


def _is_own(place: Path) -> bool:
    """Tell whether nobody else can have put answers there: it is missing, or this user's and closed to writing."""
    if not hasattr(os, "getuid"):
        return True
    try:
        state = place.stat()
    except OSError:
        return True
    return state.st_uid == os.getuid() and not state.st_mode & 0o022
