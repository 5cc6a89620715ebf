"""Variants on a worker of a Dask cluster, each in a child process held to the limits that hold on this machine.

Dask itself stops no task that hangs, and a worker that eats its memory is ended with all that it was doing. Here the
worker only waits: the child is what hangs, dies or is refused memory, and the next variant gets a new one.
"""

import multiprocessing
import threading
from concurrent.futures import CancelledError, Future
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from multiprocessing.util import Finalize
from typing import Any, TypeAlias, cast

from distributed import WorkerPlugin, get_worker
from pebble import ProcessPool

from ..model.machine import LEAST_MB, MEGABYTE, MEMORY_SHARE
from .leading import leading_row
from .local import limited_pool, outcome
from .row import Row
from .task import Task, measure

Waited: TypeAlias = "Future[Row]"


@dataclass(frozen=True)
class WorkerLimits:
    """What a variant may take: seconds, and MB of memory, where None is the worker's own share and 0 any amount."""

    limit_s: float
    memory_mb: int | None


class LimitedChildren(WorkerPlugin):
    """A worker's children, one for each of its threads, kept from variant to variant and ended with the batch."""

    def __init__(self, name: str, limits: WorkerLimits) -> None:
        self.name = name
        self.limits = limits

    def setup(self, worker: Any) -> None:
        """Note what the worker may use; the children start with the first variant."""
        self.threads = max(1, int(worker.state.nthreads))
        share_mb = worker_share_mb(worker.memory_manager.memory_limit, self.threads)
        self.memory_mb = share_mb if self.limits.memory_mb is None else self.limits.memory_mb
        self.pool: ProcessPool | None = None
        self.waited_for: set[Waited] = set()
        self.ended = False
        self.one_at_a_time = threading.Lock()
        _let_children_be_started()
        self.at_exit = Finalize(None, self.teardown, exitpriority=1)
        """Dask tears nothing down when a worker leaves, and Python would wait for the children for ever."""

    def teardown(self, worker: Any = None) -> None:
        """End the children, also in the middle of a variant, and let go whoever waits for one."""
        with self.one_at_a_time:
            pool, self.pool, self.ended = self.pool, None, True
            for future in self.waited_for:
                future.cancel()
        self.at_exit.cancel()
        _end(pool)

    def row(self, task: Task) -> Row:
        """Measure a variant in a child, or say why that gave nothing.

        Raises
        ------
        BrokenProcessPool
            When no child could be started; Dask tries the variant again.
        CancelledError
            When the batch ended meanwhile.
        """
        future = self._scheduled(task)
        try:
            if isinstance(fault := future.exception(), BrokenProcessPool):
                raise fault
            return outcome(future, task, self.limits.limit_s)
        finally:
            with self.one_at_a_time:
                self.waited_for.discard(future)

    def _scheduled(self, task: Task) -> Waited:
        with self.one_at_a_time:
            if self.ended:
                raise CancelledError
            if self.pool is None or not self.pool.active:
                _end(self.pool)
                self.pool = limited_pool(self.threads, self.memory_mb, kernel_threads=1)
            future = self.pool.schedule(measure, args=[task], timeout=self.limits.limit_s)
            self.waited_for.add(future)
            return future


def measure_limited(task: Task, plugin: str) -> Row:
    """Measure a variant on the worker that this runs on, in a child of the plugin of that name.

    Only the leading figures travel: the cluster holds every answer until the batch ends.
    """
    children = cast(LimitedChildren, get_worker().plugins[plugin])
    return leading_row(children.row(task))


def worker_share_mb(limit_bytes: int | None, threads: int) -> int:
    """Return what one variant may use of a worker's ``--memory-limit``, MB; 0, any amount, where it has none.

    It is never below what a dense design needs.
    """
    return max(LEAST_MB, int(MEMORY_SHARE * limit_bytes / MEGABYTE / threads)) if limit_bytes else 0


def _end(pool: ProcessPool | None) -> None:
    if pool is not None:
        pool.stop()
        pool.join()


def _let_children_be_started() -> None:
    """Allow a worker that Dask's nanny started, a daemonic process, to have children; they end when it does."""
    this = multiprocessing.current_process()
    if this.daemon:
        this.daemon = False
