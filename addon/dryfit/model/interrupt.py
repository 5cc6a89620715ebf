"""A stop that is asked for from outside: heard at once where that can be, and never lost where it cannot.

Ctrl-C and a queue manager's stop raise ``KeyboardInterrupt`` wherever the program happens to be. Some code swallows
it: Blender does while it registers its add-ons. So the stop is kept as well, and every long job looks for it at each
of its steps. Asked a second time, the process ends at once. While native code runs, a render for instance, Python's
handlers wait for it to return, minutes perhaps; so a thread hears signals beside them.
"""

import os
import shutil
import signal
import socket
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from multiprocessing import resource_tracker
from pathlib import Path
from types import FrameType

INTERRUPTED = 130
"""Exit code of a program that was stopped: 128 and the number of the signal, as shells have it."""
STOPPED = "dryfit: stopped; nothing half-written is left behind."
TWICE_S = 0.5
"""Two signals within this time are one: a terminal and a shell may both hand on the same Ctrl-C."""
SIGNALS = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGBREAK") if hasattr(signal, name))

_asked_at: list[float] = []
_heard_beside_at: list[float] = []
_ears: list[socket.socket] = []
_held: list[Sequence[Path] | None] = []
"""For each piece of code running that must not be broken into: what it leaves half-done where a stop ends the process,
None where a stop waits for it. To be held with the lock."""
_holding = threading.Lock()


def is_stop_asked() -> bool:
    """Tell whether somebody asked this process to stop."""
    return bool(_asked_at)


def heed_stop() -> None:
    """Stop here where somebody asked for it, and nothing has stopped since.

    Raises
    ------
    KeyboardInterrupt
        When a stop was asked for.
    """
    if _asked_at:
        raise KeyboardInterrupt


def listen_for_stop() -> None:
    """Hear a stop from now on. Off the main thread, where nobody sends signals, nothing changes.

    A signal that whoever started this process had it ignore stays ignored, as a shell has its background jobs do.
    """
    if threading.current_thread() is not threading.main_thread():
        return
    _asked_at.clear()
    _heard_beside_at.clear()
    _hear_beside()
    for number in SIGNALS:
        if signal.getsignal(number) != signal.SIG_IGN:
            signal.signal(number, _hear)


def deaf_to_stop() -> None:
    """Let no stop break in any more: all is done, and the process is about to leave with its exit code."""
    if threading.current_thread() is threading.main_thread():
        for number in SIGNALS:
            signal.signal(number, signal.SIG_IGN)


@contextmanager
def held_stop() -> Iterator[None]:
    """Run code that would print and swallow a ``KeyboardInterrupt``: a stop is raised when it is done.

    Blender does so wherever it calls Python: where it starts, opens, saves. A second one ends the process all the same.
    """
    yield from _holding_back(None)


@contextmanager
def ended_by_stop(*unfinished: Path) -> Iterator[None]:
    """Run code that may take minutes and cannot be broken into: a stop ends the process there and then.

    Parameters
    ----------
    unfinished
        Files and folders that go with it.
    """
    yield from _holding_back(unfinished)


def _holding_back(unfinished: Sequence[Path] | None) -> Iterator[None]:
    with _holding:
        _held.append(unfinished)
    try:
        yield
    finally:
        with _holding:
            _held.pop()
    if not _held:
        heed_stop()


def _hear(number: int, frame: FrameType | None) -> None:
    now = time.monotonic()
    if _asked_at and now - _asked_at[0] > TWICE_S:
        os._exit(INTERRUPTED)
    if not _asked_at:
        _asked_at.append(now)
        if not _held:
            raise KeyboardInterrupt


def _hear_beside() -> None:
    """Have a thread hear signals at once, whatever runs in the main one."""
    if not _ears:
        ear, mouth = socket.socketpair()
        mouth.setblocking(False)
        _ears.extend((ear, mouth))
        threading.Thread(target=_listen_beside, args=[ear], daemon=True).start()
    signal.set_wakeup_fd(_ears[1].fileno(), warn_on_full_buffer=False)


def _listen_beside(ear: socket.socket) -> None:
    while heard := ear.recv(1):
        if heard[0] not in SIGNALS:
            continue
        now = time.monotonic()
        _heard_beside_at.append(now)
        with _holding:
            if _held and _held[-1] is not None:
                _leave(_held[-1])
        if now - _heard_beside_at[0] > TWICE_S:
            os._exit(INTERRUPTED)


def _leave(unfinished: Sequence[Path]) -> None:
    """End the process from beside its main thread, with a word, and take what is half-done along."""
    for path in unfinished:
        with suppress(OSError):
            shutil.rmtree(path) if path.is_dir() else path.unlink(missing_ok=True)
    with suppress(OSError):
        os.write(2, f"{STOPPED}\n".encode())
    os._exit(INTERRUPTED)


@contextmanager
def kept_from_children() -> Iterator[None]:
    """Start threads and processes that no Ctrl-C reaches: whoever starts them ends them.

    A terminal sends it to all processes in it, and a worker would answer with a traceback.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    resource_tracker.ensure_running()  # it would unblock the signal again when the first process is started
    before = signal.pthread_sigmask(signal.SIG_BLOCK, [signal.SIGINT])
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
