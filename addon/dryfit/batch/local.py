"""Worker processes on this machine. A variant that crashes, hangs or eats memory costs only itself."""

import concurrent.futures
import contextlib
import multiprocessing
import os
from collections.abc import Iterator, Sequence

from pebble import ProcessExpired, ProcessPool

from .row import Row
from .task import Task, measure, unusable

MEGABYTE = 1024 * 1024


def finished_here(tasks: Sequence[Task], jobs: int, limit_s: float, memory_mb: int) -> Iterator[tuple[int, Row]]:
    """Measure tasks in processes of this machine; yield each task's number and row as it is finished.

    Closing the iterator, or an interrupt, ends the processes.

    Parameters
    ----------
    tasks
        What to measure.
    jobs
        Number of processes, at least 1.
    limit_s
        A variant that takes longer is ended.
    memory_mb
        Memory that one process may use; 0 means as much as there is.
    """
    context = multiprocessing.get_context("spawn")
    pool = ProcessPool(jobs, initializer=limit_memory, initargs=[memory_mb], context=context)
    with pool:
        futures = {pool.schedule(measure, args=[task], timeout=limit_s): number for number, task in enumerate(tasks)}
        try:
            for future in concurrent.futures.as_completed(futures):
                number = futures.pop(future)  # type: ignore[call-overload]
                yield number, _row(future, tasks[number], limit_s)
        finally:
            if futures:
                pool.stop()  # type: ignore[no-untyped-call]


def _row(future: "concurrent.futures.Future[Row]", task: Task, limit_s: float) -> Row:
    try:
        return future.result()
    except concurrent.futures.TimeoutError:
        return unusable(task, f"it took longer than {limit_s:g} s and was stopped (see --limit-s)", limit_s)
    except ProcessExpired as death:
        return unusable(task, f"its process died (exit code {death.exitcode}): damaged file, or out of memory", 0.0)
    except Exception as fault:
        return unusable(task, f"a fault in Dryfit, please report it: {type(fault).__name__}: {fault}", 0.0)


def limit_memory(memory_mb: int) -> None:
    """Hold this process to an amount of memory, where the platform can."""
    if memory_mb and os.name == "posix":
        import resource

        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(resource.RLIMIT_DATA, (memory_mb * MEGABYTE, memory_mb * MEGABYTE))


def worker_count(asked: int | None, tasks: int) -> int:
    """Return how many processes to use: as asked, else one a core, never more than there are tasks."""
    return max(1, min(asked or os.cpu_count() or 1, tasks))
