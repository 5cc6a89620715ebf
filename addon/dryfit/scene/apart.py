"""Reading files in a process of its own: what crashes, hangs or eats memory there costs a sentence here.

Blender's readers are written for files that Blender wrote. A damaged one may take the process down without a word, so
a process that has no Blender in it yet has another read the file and hand the snapshot back. Where Blender already
runs in this process (in the background, or in a script that imported it) it is used as it is, and what crashes there
ends that run; where a window is open nothing is read from disk at all (``opening``). A worker of a batch reads its
files itself, because it is replaced when it dies.
"""

import io
import json
import os
import pickle
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from types import MappingProxyType
from typing import IO, Any

from ..geometry.errors import GeometryError
from ..model.brief import Brief
from ..model.errors import DryfitError, InputError, UnreadableFile
from ..model.expendable import is_expendable, path_to_hand_on
from ..model.files_read import note_files
from ..model.interrupt import held_stop
from ..model.machine import memory_share_mb
from ..model.part_files import part_mark, sweep_part_folders
from ..model.snapshot import Snapshot
from ..model.snapshot_file import received_snapshot
from .blender import MODULE
from .errors import BlenderMissing

LIMIT_S = "DRYFIT_READ_S"
"""Environment variable: seconds that reading one file may take."""
LIMIT_MB = "DRYFIT_READ_MB"
"""Environment variable: memory that reading one file may take, MB; 0 is any amount."""
DEFAULT_S = 600.0
"""As long as a whole variant of a batch may take."""
PACKAGE = __name__.rpartition(".scene.")[0]
START = "import sys; sys.path[:] = {path!r}; from {package}.scene.reading_process import main; main()"
MEND = "Open it in Blender and save it anew, or export it again"


NO_ROOM = 74
"""How the other process ends where its answer cannot be written, as ``EX_IOERR`` of BSD's sysexits."""
FOLDER = "dryfit-"


class NoTemporaryRoom(InputError):
    """Reading a file needs a place for temporary files, and there is none."""

    def __init__(self, why: str) -> None:
        super().__init__(
            f"The folder for temporary files, {tempfile.gettempdir()}, cannot be used: {why}. "
            "Make room there, or name another one in the variable TMPDIR."
        )


class BadLimit(InputError):
    """A limit that is no number."""

    def __init__(self, name: str, stated: str) -> None:
        super().__init__(f"The variable {name} must be a number; it is {stated!r}.")


@dataclass(frozen=True)
class Question:
    """What another process is to read: ``door`` names what of the file is wanted."""

    door: str
    path: Path
    brief: Brief
    memory_mb: int = 0


@dataclass(frozen=True)
class Streams:
    """Files without a name: what the other process answers, and what it and Blender say meanwhile."""

    answer: IO[bytes]
    said: IO[bytes]


def reads_apart() -> bool:
    """Tell whether this process should have files read in another one."""
    return MODULE not in sys.modules and not is_expendable()


def read_apart(door: str, path: Path, brief: Brief) -> Snapshot:
    """Have another process read a file, and return its snapshot.

    Parameters
    ----------
    door
        One of the doors of ``reading_process``.
    path, brief
        The file, and what it is read with.

    Raises
    ------
    BlenderMissing
        When there is no Blender to read it with.
    InputError
        Whatever the reading raises there.
    UnreadableFile
        When it does not come to its end: crashed, hung, or out of memory.
    """
    if find_spec(MODULE) is None:
        raise BlenderMissing
    limit_s = _limit(LIMIT_S, DEFAULT_S)
    question = Question(door, path, brief, int(_limit(LIMIT_MB, memory_share_mb(1))))
    with ExitStack() as held:
        try:
            place = held.enter_context(_own_folder())
            streams = Streams(*(held.enter_context(tempfile.TemporaryFile(dir=place)) for _ in range(2)))
        except OSError as error:
            raise NoTemporaryRoom(error.strerror or str(error)) from error
        code = _run(question, place, streams, limit_s)
        if code == NO_ROOM:
            raise NoTemporaryRoom("what was read found no room there")
        streams.answer.seek(0)
        head = streams.answer.readline()
        if code != 0 or not head.endswith(b"\n"):
            raise UnreadableFile(str(path), _why(code, limit_s, question.memory_mb))
        snapshot = _snapshot(json.loads(head), streams.answer, path)
        _pass_on(streams.said)
        return snapshot


def _limit(name: str, usual: float) -> float:
    stated = os.environ.get(name, "")
    try:
        return float(stated) if stated else usual
    except ValueError as error:
        raise BadLimit(name, stated) from error


@contextmanager
def _own_folder() -> Iterator[str]:
    """Yield a folder for what is only needed meanwhile; what a process that was killed left of its own goes.

    A stop that broke into making or removing it would leave it there.
    """
    sweep_part_folders(Path(tempfile.gettempdir()), FOLDER)
    with held_stop():
        folder = tempfile.TemporaryDirectory(prefix=FOLDER, suffix=part_mark(), ignore_cleanup_errors=True)
    try:
        yield folder.name
    finally:
        with held_stop():
            folder.cleanup()


def _run(question: Question, place: str, streams: Streams, limit_s: float) -> int | None:
    """Let another process answer a question; return its exit code, None where its time ran out.

    The pipe that the question went through stays open until then: where it closes, the other process ends.
    """
    start = START.format(path=path_to_hand_on(), package=PACKAGE)
    surroundings = {**os.environ, "TMPDIR": place, "TEMP": place, "TMP": place}
    process = subprocess.Popen(
        [sys.executable, "-P", "-c", start],
        stdin=subprocess.PIPE,
        stdout=streams.answer,
        stderr=streams.said,
        env=surroundings,
    )
    try:
        with suppress(BrokenPipeError):
            _ask(question, process.stdin)
        return process.wait(limit_s)
    except subprocess.TimeoutExpired:
        return None
    finally:
        process.kill()
        process.wait()
        with suppress(OSError):
            process.stdin.close() if process.stdin else None


def _ask(question: Question, stream: IO[bytes] | None) -> None:
    if stream is not None:
        pickler = pickle.Pickler(stream)
        pickler.dispatch_table = {MappingProxyType: _as_dict}
        pickler.dump(question)
        stream.flush()


def _as_dict(mapping: Mapping[Any, Any]) -> tuple[type, tuple[dict[Any, Any]]]:
    return dict, (dict(mapping),)


def _snapshot(head: Mapping[str, Any], rest: IO[bytes], path: Path) -> Snapshot:
    if "error" in head:
        raise _raised(*head["error"])
    note_files([Path(name) for name in head["files"]], head["all_known"])
    return received_snapshot(io.BytesIO(rest.read()), str(path))


def _raised(name: str, words: str) -> Exception:
    """Return the error of that name with those words, as it was raised in the other process."""
    known = {each.__name__: each for base in (DryfitError, GeometryError) for each in _family(base)}
    kind = known.get(name, InputError)
    error = kind.__new__(kind)
    error.args = (words,)
    return error


def _family(kind: type[Exception]) -> Iterator[type[Exception]]:
    yield kind
    for each in kind.__subclasses__():
        yield from _family(each)


def _why(code: int | None, limit_s: float, memory_mb: int) -> str:
    if code is None:
        return f"it took longer than {limit_s:g} s and was stopped (the variable {LIMIT_S} gives it more). {MEND}"
    memory = f", or it needs more than {memory_mb:,} MB (see {LIMIT_MB})" if memory_mb else ""
    how = f"signal {-code}" if code < 0 else f"exit code {code}"
    return f"Blender's reader broke down on it ({how}): it is damaged{memory}. {MEND}"


def _pass_on(said: Iterable[bytes]) -> None:
    """Say what Blender said of a file that was read all the same."""
    with suppress(AttributeError, OSError):
        said.seek(0)  # type: ignore[attr-defined]
    for line in said:
        print(line.decode("utf8", "replace").rstrip(), file=sys.stderr)
