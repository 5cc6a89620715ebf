"""The process that reads one file for another one; see ``apart``.

It gets its question through standard input and answers on standard output: a line of JSON, then the snapshot. It ends
as soon as the other one is gone.
"""

import ctypes
import json
import os
import pickle
import signal
import sys
import threading
import traceback
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import IO, Any

from ..geometry.errors import GeometryError
from ..model.brief import Brief
from ..model.errors import DryfitError
from ..model.expendable import mark_expendable
from ..model.files_read import files_noted
from ..model.machine import limit_memory
from ..model.snapshot import Snapshot
from ..model.snapshot_file import load_saved_snapshot, send_snapshot
from .apart import NO_ROOM, Question
from .reading import base_to_lock, on_base, read_file, read_performer

END_WITH_PARENT = 1
"""``PR_SET_PDEATHSIG`` of Linux's prctl: also in the middle of a reader that holds on to Python's lock."""


def _on_base(path: Path, brief: Brief) -> Snapshot:
    return on_base(load_saved_snapshot(path), path, brief)


DOORS: Mapping[str, Callable[[Path, Brief], Snapshot]] = {
    "design": read_file,
    "base of a saved design": _on_base,
    "performer": read_performer,
    "base to lock": base_to_lock,
}


def main() -> None:
    """Answer one question and end at once, without taking Blender down: some versions crash over it."""
    mark_expendable()
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever asked is interrupted too, and ends this process
    _end_with_parent()
    answer = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    question: Question = pickle.load(sys.stdin.buffer)
    limit_memory(question.memory_mb)
    threading.Thread(target=_follow, args=[sys.stdin.buffer], daemon=True).start()
    try:
        _answer(question, answer)
        answer.flush()
    except OSError:
        os._exit(NO_ROOM)
    sys.stderr.flush()
    os._exit(0)


def _answer(question: Question, answer: IO[bytes]) -> None:
    try:
        with files_noted() as noted:
            snapshot = DOORS[question.door](question.path, question.brief)
    except (DryfitError, GeometryError) as error:
        return _say(answer, {"error": [type(error).__name__, str(error)]})
    except MemoryError:
        return _say(answer, {"error": ["UnreadableFile", _over(question)]})
    except Exception as fault:  # the one place where whoever asked would hear of none
        return _say(answer, {"error": ["DryfitError", _fault(question, fault)]})
    _say(answer, {"files": sorted(map(str, noted.paths)), "all_known": noted.all_known})
    return send_snapshot(snapshot, answer)


def _say(answer: IO[bytes], values: dict[str, Any]) -> None:
    answer.write(json.dumps(values).encode() + b"\n")


def _over(question: Question) -> str:
    return f"{question.path}: cannot be read: it needs more than {question.memory_mb:,} MB of memory, or is damaged"


def _fault(question: Question, fault: Exception) -> str:
    place = traceback.extract_tb(fault.__traceback__)[-1]
    return (
        f"{question.path}: a fault in Dryfit while it was read, please report it with the file: "
        f"{type(fault).__name__}: {fault} ({Path(place.filename).name}, line {place.lineno})"
    )


def _end_with_parent() -> None:
    if sys.platform == "linux":
        with suppress(OSError, AttributeError):
            ctypes.CDLL(None).prctl(END_WITH_PARENT, signal.SIGKILL)


def _follow(parent: IO[bytes]) -> None:
    parent.read()
    os._exit(1)
