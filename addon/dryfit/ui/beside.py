"""An errand in a process of its own, so that the interface never waits: its steps, its answer and its end.

The child is Blender's own Python without Blender. What goes over is pickled; the extension may have another name here
than there, so names of its modules are written without what stands before them.
"""

import os
import pickle
import subprocess
import sys
from contextlib import suppress
from io import BytesIO
from pathlib import Path
from threading import Thread
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
STEP, ANSWER, REFUSAL, FAULT = "step", "answer", "refusal", "fault"
LESS_URGENT = 5
"""Steps of niceness below the interface: on a machine with few cores, views turn and figures come a little later."""
KILLED = "The process that measures ended by itself, maybe for want of memory; nothing was changed. Try again."


class RefusedBeside(DryfitError):
    """What the errand refused, in its own words."""


class Beside:
    """An errand that runs in a process of its own.

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
        self._process = subprocess.Popen(_command(), stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=_environment())
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
        """End the process, wherever it is; nobody waits for it."""
        if self._process.poll() is None:
            self._process.kill()

    def _listen(self, errand: Errand) -> None:
        """Hand the errand over and follow it, in a thread that does nothing but wait."""
        try:
            assert self._process.stdin is not None and self._process.stdout is not None
            send(self._process.stdin, (errand.job.__name__, errand.given))
            while not self.finished:
                self._hear(*receive(self._process.stdout))
        except (EOFError, OSError) as error:
            self._error = RefusedBeside(KILLED).with_traceback(error.__traceback__)
        except BaseException as error:  # told in the interface's own thread, by whoever asks for the answer
            self._error = error
        finally:
            self.finished = True
            self._process.kill()
            self._process.wait()

    def _hear(self, kind: str, value: Any) -> None:
        if kind == STEP:
            self.step = value
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


def serve() -> None:
    """Run the errand that comes over standard input; what it says goes over standard output."""
    _step_back()
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever prints must not stand between the messages
    from . import errands

    name, given = receive(sys.stdin.buffer)
    try:
        job = getattr(errands, name)(*given)
        while True:
            send(out, (STEP, next(job)))
    except StopIteration as finished:
        send(out, (ANSWER, finished.value))
    except MEANT_FOR_USERS as error:
        send(out, (REFUSAL, str(error)))
    except Exception as error:
        import traceback

        send(out, (FAULT, f"{error}\n{traceback.format_exc()}"))


def _step_back() -> None:
    """Let whoever uses this computer go first; where the system has no such thing, share it."""
    with suppress(AttributeError, OSError):
        os.nice(LESS_URGENT)
