"""The same work on a Dask cluster; needs the extra ``farm``."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import Any

from ..model.errors import DryfitError
from .row import Row
from .task import Task, unusable

TRIES = 3
ANSWERS_WITHIN_S = 20
"""A scheduler that takes longer to answer does not."""


class NoCluster(DryfitError):
    """The cluster cannot be used."""

    def __init__(self, scheduler: str, why: str) -> None:
        super().__init__(f"Dask scheduler {scheduler or '(none given)'}: {why}")


def finished_on_cluster(
    tasks: Sequence[Task], scheduler: str, limit_s: float, memory_mb: int | None = None
) -> Iterator[tuple[int, Row]]:
    """Measure tasks on a Dask cluster; yield each task's number and row as it is finished.

    Workers must see the same paths. A worker that dies has its task done again elsewhere; a task whose workers
    died ``TRIES`` times is reported as unusable. Closing the iterator cancels what is left.

    Parameters
    ----------
    tasks
        What to measure.
    scheduler
        Its address.
    limit_s
        A variant that takes longer is ended; its worker goes on with the next.
    memory_mb
        Memory that one variant may use; 0 means any amount, None a share of the worker's ``--memory-limit``.

    Raises
    ------
    NoCluster
        When the scheduler cannot be reached or Dask is not installed.
    """
    try:
        from distributed import Client, as_completed

        from .on_worker import measure_limited
    except ImportError as missing:
        raise NoCluster(
            scheduler, "Dask is not installed here: pip install '.[cli,farm]' in a clone of Dryfit"
        ) from missing
    if not scheduler:
        raise NoCluster(scheduler, "name one with --scheduler, for instance tcp://127.0.0.1:8786")
    try:
        client = Client(scheduler, timeout=ANSWERS_WITHIN_S)
    except OSError as error:
        raise NoCluster(scheduler, f"it does not answer ({error})") from error
    with client, _children(client, limit_s, memory_mb) as name:
        futures = client.map(measure_limited, list(tasks), plugin=name, retries=TRIES, pure=False)
        numbers = {future.key: number for number, future in enumerate(futures)}
        try:
            for future in as_completed(futures):
                number = numbers.pop(future.key)
                fault = future.exception()
                row = unusable(tasks[number], f"no worker could finish it: {fault}", 0.0) if fault else future.result()
                yield number, row
        finally:
            if numbers:
                client.cancel(futures)


@contextmanager
def _children(client: Any, limit_s: float, memory_mb: int | None) -> Iterator[str]:
    """Let every worker, also one that comes later, have limited children for a while; yield their name."""
    from .on_worker import LimitedChildren, WorkerLimits

    name = f"dryfit-{client.id}"
    client.register_plugin(LimitedChildren(name, WorkerLimits(limit_s, memory_mb)), name=name)
    try:
        yield name
    finally:
        with suppress(OSError):  # the scheduler is gone, and its workers with it
            client.unregister_worker_plugin(name)
