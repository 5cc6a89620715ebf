"""Worker processes on this machine. A variant that crashes, hangs or eats memory costs only itself."""

import concurrent.futures
import multiprocessing
import multiprocessing.connection
import os
import sys
import threading
from collections.abc import Iterator, Sequence

from pebble import ProcessExpired, ProcessPool

from ..model.expendable import mark_expendable, path_to_hand_on
from ..model.interrupt import kept_from_children
from ..model.machine import limit_memory
from .row import Row
from .task import Task, measure, unusable


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
    with limited_pool(jobs, memory_mb, kernel_threads=max(1, usable_cores() // jobs)) as pool:
        with kept_from_children():
            futures = {
                pool.schedule(measure, args=[task], timeout=limit_s): number for number, task in enumerate(tasks)
            }
        try:
            for future in concurrent.futures.as_completed(futures):
                number = futures.pop(future)  # type: ignore[call-overload]
                yield number, outcome(future, tasks[number], limit_s)
        finally:
            if futures:
                pool.stop()  # type: ignore[no-untyped-call]


def limited_pool(jobs: int, memory_mb: int, kernel_threads: int) -> ProcessPool:
    """Return processes that are held to an amount of memory and a number of threads, and end with this one."""
    context = multiprocessing.get_context("spawn")
    return ProcessPool(jobs, initializer=prepare_worker, initargs=[memory_mb, kernel_threads], context=context)


def outcome(future: "concurrent.futures.Future[Row]", task: Task, limit_s: float) -> Row:
    """Return the row that came out of a process, or one that says what became of it."""
    try:
        return future.result()
    except concurrent.futures.TimeoutError:
        return unusable(task, f"it took longer than {limit_s:g} s and was stopped (see --limit-s)", limit_s)
    except ProcessExpired as death:
        return unusable(task, f"its process died (exit code {death.exitcode}): damaged file, or out of memory", 0.0)
    except Exception as fault:
        return unusable(task, f"a fault in Dryfit, please report it: {type(fault).__name__}: {fault}", 0.0)


def prepare_worker(memory_mb: int, kernel_threads: int) -> None:
    """Hold this process to its share of the machine: memory, and threads of the geometry kernel."""
    mark_expendable()
    _end_with_parent()
    sys.path[:] = path_to_hand_on()
    limit_memory(memory_mb)
    os.environ.setdefault("DRYFIT_THREADS", str(kernel_threads))


def _end_with_parent() -> None:
    """End this process when the one that started it is gone, even in the middle of a variant that hangs."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_follow, args=[parent.sentinel], daemon=True).start()


def _follow(sentinel: int) -> None:
    multiprocessing.connection.wait([sentinel])
    os._exit(1)


def worker_count(asked: int | None, tasks: int) -> int:
    """Return how many processes to use: as asked, else one a core, never more than there are tasks."""
    return max(1, min(asked or usable_cores(), tasks))


def usable_cores() -> int:
    """Return the number of cores that this process may use."""
    usable = getattr(os, "sched_getaffinity", None)
    return len(usable(0)) if usable else os.cpu_count() or 1
