"""An errand in a process beside Blender, so that the interface never waits: its steps, its answer and its end.

The child is Blender's own Python without Blender. It serves one errand after another, so that what it worked out for
one is known to the next, and ends by itself when nobody sent any for a while, or Blender is gone. What goes over is
pickled; the extension may have another name here than there, so names of its modules are written without what stands
before them.
"""

import os
import pickle
import subprocess
import sys
from contextlib import suppress
from io import BytesIO
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Lock, Thread, Timer
from types import MappingProxyType
from typing import IO, Any

from ..model.errors import DryfitError
from ..model.progress import Progress
from .errands import Errand
from .refusals import MEANT_FOR_USERS

ROOT = __package__.rpartition(".")[0]
FOLDER = Path(__file__).resolve().parents[1]
CHILD = "import sys; sys.path[:0] = sys.argv[1:]; from {name}.ui.beside import serve; serve()"
SIZE = 8
"""Bytes that tell how long a message is."""
STEP, ANSWER, REFUSAL, FAULT, DROPPED = "step", "answer", "refusal", "fault", "dropped"
"""What the child says."""
ERRAND, DROP = "errand", "drop"
"""What it hears."""
LESS_URGENT = 5
"""Steps of niceness below the interface: on a machine with few cores, views turn and figures come a little later."""
IDLE_SECONDS = 1200.0
"""A child that nobody sent anything for so long ends, and with it what it knows."""
PATIENCE_SECONDS = 5.0
"""An errand that is stopped ends at its next step; where that takes longer, its process is ended, with what it knows.
"""
STOPPED = "It was stopped; nothing was changed."
KILLED = "The process that measures ended by itself, maybe for want of memory; nothing was changed. Try again."


class RefusedBeside(DryfitError):
    """What the errand refused, in its own words."""


class Gone(Exception):
    """The child is no longer there."""


class Child:
    """The process beside Blender: hears one errand after another."""

    def __init__(self) -> None:
        pipe = subprocess.PIPE
        self._process = subprocess.Popen(_command(), stdin=pipe, stdout=pipe, env=_environment())
        self._speaking = Lock()
        self.errands = 0

    @property
    def is_there(self) -> bool:
        """Whether it still runs."""
        return self._process.poll() is None

    def begin(self, errand: Errand) -> int:
        """Hand an errand over and return its number.

        Raises
        ------
        Gone
            When the child is.
        """
        self.errands += 1
        self._say(ERRAND, (self.errands, errand.job.__name__, errand.given))
        return self.errands

    def drop(self, number: int) -> None:
        """Let an errand end at its next step."""
        with suppress(Gone):
            self._say(DROP, number)

    def hear(self) -> tuple[str, Any]:
        """Wait for what the child says next.

        Raises
        ------
        Gone
            When the child is.
        """
        assert self._process.stdout is not None
        try:
            kind, value = receive(self._process.stdout)
        except (EOFError, OSError, ValueError) as error:
            raise Gone from error
        return kind, value

    def end(self) -> None:
        """End it, wherever it is, and wait until it is gone."""
        self._process.kill()
        self._process.wait()

    def bury(self) -> None:
        """End it and close what led to it."""
        self.end()
        for stream in (self._process.stdin, self._process.stdout):
            with suppress(OSError):
                stream.close()  # type: ignore[union-attr]

    def _say(self, kind: str, value: Any) -> None:
        assert self._process.stdin is not None
        try:
            with self._speaking:
                send(self._process.stdin, (kind, value))
        except (OSError, ValueError) as error:
            raise Gone from error


_children: list[Child] = []
"""The one that waits or works, where there is one."""
_one_at_a_time = Lock()
"""Held by whoever has an errand with the child."""


def _child() -> Child:
    """Return the child, a new one where there is none any more; for whoever has the errand."""
    if _children and not _children[0].is_there:
        _bury()
    if not _children:
        _children.append(Child())
    return _children[0]


def _begun(errand: Errand) -> tuple[Child, int]:
    """Hand an errand to the child, or to a new one where that went away in the meantime.

    Raises
    ------
    Gone
        When the new one did too.
    """
    child = _child()
    try:
        return child, child.begin(errand)
    except Gone:
        _bury()
    child = _child()
    return child, child.begin(errand)


def _bury() -> None:
    while _children:
        _children.pop().bury()


def dismiss() -> None:
    """End the child, with all that it knows; the next errand has a new one."""
    for child in (*_children,):
        child.end()


class Beside:
    """An errand that runs beside Blender.

    Attributes
    ----------
    step
        How far it is.
    finished
        Whether it came to its end, in an answer or in an error.
    """

    def __init__(self, errand: Errand, step: Progress) -> None:
        self.step, self.finished = step, False
        self._answer: Any = None
        self._error: BaseException | None = None
        self._stopped = False
        self._at: tuple[Child, int] | None = None
        Thread(target=self._listen, args=(errand,), name="dryfit", daemon=True).start()

    def answer(self) -> Any:
        """Return what a finished errand came to.

        Raises
        ------
        BaseException
            ``RefusedBeside`` where it was refused in words for users, else whatever went wrong.
        """
        if self._error is not None:
            raise self._error
        return self._answer

    def stop(self) -> None:
        """Let it end at its next step, wherever it is; nobody waits for it."""
        self._stopped = True
        if not self.finished:
            Thread(target=self._drop, name="dryfit", daemon=True).start()

    def _drop(self) -> None:
        if self._at is not None:
            child, number = self._at
            child.drop(number)
            timer = Timer(PATIENCE_SECONDS, self._lose_patience, (child,))
            timer.daemon = True
            timer.start()

    def _lose_patience(self, child: Child) -> None:
        if not self.finished:
            child.end()

    def _listen(self, errand: Errand) -> None:
        """Hand the errand over and follow it, in a thread that does nothing but wait."""
        try:
            with _one_at_a_time:
                self._follow(errand)
        except Gone as error:
            self._error = RefusedBeside(STOPPED if self._stopped else KILLED).with_traceback(error.__traceback__)
        except BaseException as error:  # told in the interface's own thread, by whoever asks for the answer
            self._error = error
        finally:
            self.finished = True

    def _follow(self, errand: Errand) -> None:
        """Follow an errand to its end; only a child that answered, or refused in words, is kept for the next.

        Raises
        ------
        Gone
            When the child went away, or the errand was stopped.
        """
        if self._stopped:
            raise Gone
        kept, kind = False, ""
        try:
            child, number = _begun(errand)
            self._at = child, number
            if self._stopped:
                self._drop()
            while not self.finished and kind != DROPPED:
                kind, value = child.hear()
                kept = kind in (ANSWER, REFUSAL, DROPPED)
                self._hear(kind, value)
        finally:
            if not kept:
                _bury()
        if kind == DROPPED:
            raise Gone

    def _hear(self, kind: str, value: Any) -> None:
        if kind in (STEP, DROPPED):
            self.step = value if kind == STEP else self.step
            return
        if kind == ANSWER:
            self._answer = value
        else:
            self._error = RefusedBeside(value) if kind == REFUSAL else RuntimeError(value)
        self.finished = True


class InThread:
    """An errand that runs in a thread of this process, for an answer that cannot leave it; otherwise as ``Beside``.

    What takes its time there lets go of Python's lock: the kernel, and numpy on long arrays.
    """

    def __init__(self, errand: Errand, step: Progress) -> None:
        self.step, self.finished = step, False
        self._answer: Any = None
        self._error: BaseException | None = None
        self._stopped = False
        Thread(target=self._run, args=(errand.started(),), name="dryfit", daemon=True).start()

    def answer(self) -> Any:
        """Return what a finished errand came to.

        Raises
        ------
        BaseException
            Whatever went wrong.
        """
        if self._error is not None:
            raise self._error
        return self._answer

    def stop(self) -> None:
        """Let it end after the step that it is at; nobody waits for it."""
        self._stopped = True

    def _run(self, job: Any) -> None:
        try:
            while not self._stopped:
                self.step = next(job)
        except StopIteration as finished:
            self._answer = finished.value
        except BaseException as error:  # told in the interface's own thread, by whoever asks for the answer
            self._error = error
        finally:
            self.finished = True


def begun(errand: Errand, step: Progress) -> Beside | InThread:
    """Return an errand that has begun, where it is to run."""
    return (InThread if errand.here else Beside)(errand, step)


def _command() -> list[str]:
    return [sys.executable, "-c", CHILD.format(name=FOLDER.name), str(FOLDER.parent), *filter(None, sys.path)]


def _environment() -> dict[str, str]:
    return {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}


class _Writer(pickle.Pickler):
    """Writes classes and functions of the extension under a name without what stands before it."""

    def reducer_override(self, value: Any) -> Any:
        if isinstance(value, MappingProxyType):
            return _view, (dict(value),)
        module = getattr(value, "__module__", "") or ""
        if isinstance(value, type) and module.startswith(f"{ROOT}."):
            return _named, (module.removeprefix(ROOT), value.__qualname__)
        return NotImplemented


class _Reader(pickle.Unpickler):
    def find_class(self, module: str, name: str) -> Any:
        return OWN[name] if name in OWN else super().find_class(module, name)


def _named(module: str, name: str) -> Any:
    """Return a class of the extension by its module's name below the root."""
    import importlib

    found: Any = importlib.import_module(module, ROOT)
    for part in name.split("."):
        found = getattr(found, part)
    return found


def _view(values: dict[Any, Any]) -> Any:
    return MappingProxyType(values)


OWN = {"_named": _named, "_view": _view}
"""What messages are put together with, wherever this module lies."""


def send(stream: IO[bytes], value: Any) -> None:
    """Write one message.

    Raises
    ------
    OSError
        When nobody listens any more.
    """
    kept = BytesIO()
    _Writer(kept, pickle.HIGHEST_PROTOCOL).dump(value)
    stream.write(len(kept.getbuffer()).to_bytes(SIZE, "little"))
    stream.write(kept.getbuffer())
    stream.flush()


def receive(stream: IO[bytes]) -> Any:
    """Return the next message.

    Raises
    ------
    EOFError
        When none comes any more.
    """
    head = stream.read(SIZE)
    body = stream.read(int.from_bytes(head, "little")) if len(head) == SIZE else b""
    if not body:
        raise EOFError("nobody speaks any more")
    return _Reader(BytesIO(body)).load()


class Heard:
    """What comes over a stream, heard in a thread, also while an errand runs; the process ends with its stream."""

    def __init__(self, stream: IO[bytes]) -> None:
        self._errands: SimpleQueue[tuple[int, str, tuple[Any, ...]]] = SimpleQueue()
        self._dropped = 0
        Thread(target=self._hear, args=(stream,), daemon=True).start()

    def errand(self) -> tuple[int, str, tuple[Any, ...]]:
        """Wait for the next errand: its number, its name and what it works on.

        Raises
        ------
        Empty
            When none comes for long.
        """
        return self._errands.get(timeout=IDLE_SECONDS)

    def is_dropped(self, number: int) -> bool:
        """Tell whether nobody wants an errand any more."""
        return number <= self._dropped

    def _hear(self, stream: IO[bytes]) -> None:
        try:
            while True:
                kind, value = receive(stream)
                if kind == DROP:
                    self._dropped = value
                else:
                    self._errands.put(value)
        finally:
            os._exit(0)  # whoever wanted an answer is gone


def serve() -> None:
    """Run the errands that come over standard input, one after another; what they say goes over standard output."""
    _step_back()
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever prints must not stand between the messages
    heard = Heard(sys.stdin.buffer)
    with suppress(Empty, OSError):
        while True:
            send(out, _served(out, heard, *heard.errand()))


def _served(out: IO[bytes], heard: Heard, number: int, name: str, given: tuple[Any, ...]) -> tuple[str, Any]:
    """Run one errand, tell its steps, and return how it ended."""
    from . import errands

    try:
        job = getattr(errands, name)(*given)
        while not heard.is_dropped(number):
            send(out, (STEP, next(job)))
        job.close()
        return DROPPED, None
    except StopIteration as finished:
        return ANSWER, finished.value
    except MEANT_FOR_USERS as error:
        return REFUSAL, str(error)
    except Exception as error:
        import traceback

        return FAULT, f"{error}\n{traceback.format_exc()}"


def _step_back() -> None:
    """Let whoever uses this computer go first; where the system has no such thing, share it."""
    with suppress(AttributeError, OSError):
        os.nice(LESS_URGENT)
