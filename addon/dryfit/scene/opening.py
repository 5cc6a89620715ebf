"""Open files in Blender: .blend files inert, mesh files into an empty scene."""

import gzip
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Generic, TypeVar

from ..model.errors import UnreadableFile
from ..model.interrupt import held_stop
from ..model.unpacked_size import gzip_size, require_bounded, zstd_size
from .blender import blender
from .disarming import Disarmed, disarm, writes_when_evaluated
from .errors import OpenFileAtRisk, WritesWhenEvaluated
from .quiet import quiet_output
from .reasons import one_line, why_unreadable

BLEND = b"BLENDER"
ZSTD = b"\x28\xb5\x2f\xfd"
GZIP = b"\x1f\x8b"

Answer = TypeVar("Answer")


@contextmanager
def files_to_open(path: Path) -> Iterator[None]:
    """Let files be opened in place of the current one, and leave an empty scene behind, also on error.

    What was read is arrays by then. Closing the file frees its memory for the checks, and spares the 4.2 module a
    crash at exit, when it frees the formulas of drivers after Python is gone.

    Raises
    ------
    OpenFileAtRisk
        When a Blender window is open.
    BlenderMissing
    """
    _require_background(path)
    with quiet_output():
        try:
            yield
        finally:
            open_empty(path)


def open_blend(path: Path) -> Disarmed:
    """Open a .blend file in place of the current one, inert: see ``disarming``. It is not to be saved afterwards.

    Raises
    ------
    UnreadableFile
        When it is no .blend file, is damaged, or a newer Blender wrote it.
    OpenFileAtRisk
        When a Blender window is open.
    BlenderMissing
    """
    return _opened(path, disarm)


def open_blend_to_write(path: Path) -> None:
    """Open a .blend file in place of the current one to be saved again with all that it holds.

    Raises
    ------
    WritesWhenEvaluated
        When the mere evaluation that saving takes would write other files too.
    UnreadableFile, OpenFileAtRisk, BlenderMissing
        As ``open_blend``.
    """

    def look_then_disarm() -> tuple[str, ...]:
        found = writes_when_evaluated()
        if found:
            disarm()
        return found

    found = _opened(path, look_then_disarm)
    if found:
        raise WritesWhenEvaluated(str(path), found)


def _opened(path: Path, at_once: Callable[[], Answer]) -> Answer:
    bpy = blender()
    _require_background(path)
    require_blend_header(path)
    try:
        with quiet_output(), held_stop(), _before_evaluation(at_once) as done:
            ended = bpy.ops.wm.open_mainfile(
                filepath=str(path.resolve()), load_ui=False, use_scripts=False, display_file_selector=False
            )
    except RuntimeError as error:
        raise UnreadableFile(str(path), why_unreadable(path, error)) from error
    if ended != {"FINISHED"} or not (done.answers or done.faults):
        raise UnreadableFile(str(path), "Blender did not open it; the file may be damaged")
    if done.faults:
        if not isinstance(done.faults[0], Exception):
            raise done.faults[0]
        why = f"what it might run or write cannot be taken out of it: {one_line(done.faults[0])}"
        raise UnreadableFile(str(path), why) from done.faults[0]
    return done.answers[0]


@dataclass(frozen=True)
class _Done(Generic[Answer]):
    """What was answered when a file was read, and what went wrong then; one thing at most."""

    answers: list[Answer] = field(default_factory=list)
    faults: list[BaseException] = field(default_factory=list)


@contextmanager
def _before_evaluation(act: Callable[[], Answer]) -> Iterator[_Done[Answer]]:
    """Have something done when a file is read and nothing of it was evaluated.

    Blender calls its handlers then, for add-ons to fill the names that drivers use.
    """
    bpy, done = blender(), _Done[Answer]()

    def call(*_: object) -> None:
        try:
            done.answers.append(act())
        except BaseException as fault:  # Blender would only print it, Ctrl-C too, and evaluate all the same
            done.faults.append(fault)
            bpy.data.batch_remove(tuple(bpy.data.objects))

    bpy.app.handlers.load_post.insert(0, bpy.app.handlers.persistent(call))
    try:
        yield done
    finally:
        bpy.app.handlers.load_post.remove(call)


def open_empty(path: Path) -> None:
    """Start an empty scene in metres for the mesh file at ``path``.

    Raises
    ------
    OpenFileAtRisk, BlenderMissing
    """
    bpy = blender()
    _require_background(path)
    with quiet_output(), held_stop():
        bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)


def require_blend_header(path: Path) -> None:
    """Raise when the file does not begin as a .blend file does, plain or compressed, or would unpack to far too much.

    Raises
    ------
    UnreadableFile
    """
    try:
        with path.open("rb") as stream:
            begin = stream.read(len(BLEND))
        if begin.startswith(ZSTD):
            require_bounded(path, zstd_size(path))
        if begin.startswith(GZIP):
            require_bounded(path, gzip_size(path))
            with gzip.open(path) as stream:
                begin = stream.read(len(BLEND))
    except (EOFError, zlib.error, gzip.BadGzipFile) as error:
        raise UnreadableFile(str(path), why_unreadable(path, error)) from error
    except OSError as error:
        raise UnreadableFile(str(path), error.strerror or str(error)) from error
    if not begin:
        raise UnreadableFile(str(path), "the file is empty")
    if begin != BLEND and not begin.startswith(ZSTD):
        raise UnreadableFile(str(path), "it is not a .blend file, whatever its name says")


def _require_background(path: Path) -> None:
    if not blender().app.background:
        raise OpenFileAtRisk(str(path))
