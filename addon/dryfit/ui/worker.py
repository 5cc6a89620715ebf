"""A job run beside the interface, in a thread of its own: it works on arrays alone and never touches Blender's data."""

import sys
from contextlib import suppress
from threading import Event, Thread
from typing import Any

from ..model.progress import Job, Progress

SWITCH_SECONDS = 1e-3
"""How long the worker may hold Python while the interface waits for it."""


class Worker:
    """Drains a job in a thread; what it came to is asked for from the interface's own.

    Attributes
    ----------
    step
        How far the job is.
    """

    def __init__(self, job: Job[Any], step: Progress) -> None:
        self.step = step
        self._job, self._stopped, self._ended = job, Event(), Event()
        self._answer: Any = None
        self._error: BaseException | None = None
        self._switch = sys.getswitchinterval()
        sys.setswitchinterval(SWITCH_SECONDS)
        self._thread = Thread(target=self._run, name="dryfit", daemon=True)
        self._thread.start()

    @property
    def finished(self) -> bool:
        """Whether the job came to its end, in an answer or in an error."""
        return self._ended.is_set()

    def answer(self) -> Any:
        """Return what a finished job returned.

        Raises
        ------
        BaseException
            What the job raised.
        """
        if self._error is not None:
            raise self._error
        return self._answer

    def stop(self) -> None:
        """Let the job end after its present step; nobody waits for that."""
        self._stopped.set()
        sys.setswitchinterval(self._switch)

    def _run(self) -> None:
        try:
            while not self._stopped.is_set():
                self.step = next(self._job)
        except StopIteration as finished:
            self._answer = finished.value
        except BaseException as error:  # told in the interface's own thread, by whoever asks for the answer
            self._error = error
        finally:
            with suppress(Exception):
                self._job.close()
            self._ended.set()
