"""Checks measured side by side: each lane is a thread with a fitting of its own, so that no lane moves another's skin.

The kernel and numpy leave the interpreter's lock while they work, so two lanes keep two cores busy. What is kept by
content serves all of them; answers are the same to the bit however many there are.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from queue import Empty, SimpleQueue
from threading import Event, Lock, Thread
from typing import Generic, TypeVar

from ..geometry.kernel.calls import usable_cores, use_threads
from ..model.progress import Job, Progress, within
from ..performer.fitting import Fitting

Result = TypeVar("Result")

TOGETHER = ("closure", "coverage", "interference", "airway")
"""Checks that rest on how the mouth shuts: they follow one another in one lane, which finds it once."""
LONG = ("closure", "strain", "blink", "release", "additive")
"""What usually takes longest begins first, so that no lane waits long for the last (scripts/bench_results/profile.md).
"""
MOST_LANES = 4
"""Each lane poses and indexes for itself, which takes memory."""
PATIENCE_S = 0.05
"""A job that is driven from outside hands over to whoever drives it at least this often."""


@dataclass(frozen=True)
class _Said:
    """What a lane says: how far a check is, or what came of it."""

    number: int
    step: Progress | None = None
    result: object = None
    error: BaseException | None = None


def side_by_side(
    fitting: Fitting, names: Sequence[str], measure: Callable[[Fitting, int], Job[Result]]
) -> Job[list[Result]]:
    """Measure checks, several at a time where there are cores for it.

    Parameters
    ----------
    fitting
        The design; the first lane has it, every other one like it.
    names
        Ids of the checks.
    measure
        Starts one of them on a fitting, by its place in ``names``.

    Yields
    ------
    Progress
        Checks finished of all, and within them how far they are; the words are of the first that is not finished.

    Returns
    -------
    list
        What each came to, in the order of ``names``.
    """
    groups = _groups(names)
    count = min(usable_cores(), MOST_LANES, len(groups))
    if count < 2:
        return (yield from _one_by_one(fitting, len(names), measure))
    lanes = _Lanes(groups, measure)
    fittings = [fitting, *(fitting.in_lane(number) for number in range(1, count))]
    return (yield from lanes.run(fittings, len(names)))


def _one_by_one(fitting: Fitting, count: int, measure: Callable[[Fitting, int], Job[Result]]) -> Job[list[Result]]:
    results = []
    for number in range(count):
        results.append((yield from within(measure(fitting, number), number, count)))
    return results


def _groups(names: Sequence[str]) -> list[list[int]]:
    """Return places of checks that follow one another in a lane, the longest first."""
    together = [place for place, name in enumerate(names) if name in TOGETHER]
    alone = [[place] for place, name in enumerate(names) if name not in TOGETHER]
    groups = ([together] if together else []) + alone
    rank = {name: place for place, name in enumerate(LONG)}
    return sorted(groups, key=lambda group: rank.get(names[group[0]], len(rank)))


class _Lanes(Generic[Result]):
    def __init__(self, groups: Sequence[Sequence[int]], measure: Callable[[Fitting, int], Job[Result]]) -> None:
        self._measure = measure
        self._groups = iter(groups)
        self._taking = Lock()
        self._heard: SimpleQueue[_Said] = SimpleQueue()
        self._unwanted = Event()

    def run(self, fittings: Sequence[Fitting], count: int) -> Job[list[Result]]:
        share = usable_cores() // len(fittings)
        threads = [
            Thread(target=self._lane, args=[each, share], name=f"check lane {number}", daemon=True)
            for number, each in enumerate(fittings)
        ]
        try:
            for thread in threads:
                thread.start()
            return (yield from self._listen(count))
        finally:
            self._unwanted.set()
            for thread in threads:
                if thread.ident is not None:
                    thread.join()

    def _listen(self, count: int) -> Job[list[Result]]:
        running: dict[int, Progress] = {}
        results: dict[int, Result] = {}
        done = 0.0
        while len(results) < count:
            for said in self._said():
                if said.error is not None:
                    raise said.error
                if said.step is not None:
                    running[said.number] = said.step
                else:
                    running.pop(said.number, None)
                    results[said.number] = said.result  # type: ignore[assignment]
            if running:
                done = max(done, len(results) + sum(step.fraction for step in running.values()))
                yield Progress(done, count, running[min(running)].label)
        return [results[number] for number in range(count)]

    def _said(self) -> Iterator[_Said]:
        """Yield what the lanes said since the last time, waiting a little where that is nothing."""
        try:
            yield self._heard.get(timeout=PATIENCE_S)
            while True:
                yield self._heard.get_nowait()
        except Empty:
            return

    def _lane(self, fitting: Fitting, threads: int) -> None:
        use_threads(threads)
        for number in self._turns():
            try:
                self._one(fitting, number)
            except BaseException as error:  # whatever it is, it belongs to whoever drives the job
                self._heard.put(_Said(number, error=error))
                return

    def _turns(self) -> Iterator[int]:
        """Yield what this lane measures next, until nothing is left or nobody wants it any more."""
        while not self._unwanted.is_set():
            with self._taking:
                group = next(self._groups, None)
            if group is None:
                return
            yield from group

    def _one(self, fitting: Fitting, number: int) -> None:
        job = self._measure(fitting, number)
        while not self._unwanted.is_set():
            try:
                self._heard.put(_Said(number, step=next(job)))
            except StopIteration as finished:
                self._heard.put(_Said(number, result=finished.value))
                return
        job.close()
