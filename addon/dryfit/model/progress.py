"""How far a long job is. Long jobs are generators of these."""

from collections.abc import Callable, Generator
from dataclasses import dataclass, replace
from typing import TypeVar

from .interrupt import heed_stop

Answer = TypeVar("Answer")


@dataclass(frozen=True)
class Progress:
    """One step of a long job.

    Attributes
    ----------
    done, total
        Steps finished and steps in all; ``total`` is at least 1.
    label
        What is being done now, in words for a user.
    """

    done: float
    total: float
    label: str

    @property
    def fraction(self) -> float:
        """Share finished, 0 to 1."""
        return min(max(self.done / self.total, 0.0), 1.0)


Job = Generator[Progress, None, Answer]


def retold(job: Job[Answer], told: Callable[[Progress], Progress]) -> Job[Answer]:
    """Run a job as a part of another: each of its steps comes out as ``told`` makes it, and its answer as it is.

    The job is closed when this one is, or when ``told`` raises.
    """
    try:
        while True:
            try:
                step = next(job)
            except StopIteration as finished:
                answer: Answer = finished.value
                return answer
            yield told(step)
    finally:
        job.close()


def within(job: Job[Answer], number: int, total: int) -> Job[Answer]:
    """Run a job as one of several in a row: its progress is a share of theirs.

    Parameters
    ----------
    job
        What is run.
    number, total
        Its place among them, and how many they are.
    """
    return retold(job, lambda step: Progress(number + step.fraction, total, step.label))


def saying(label: str, job: Job[Answer]) -> Job[Answer]:
    """Run a job whose progress is told in other words."""
    return retold(job, lambda step: replace(step, label=label))


def drain(job: Job[Answer]) -> Answer:
    """Run a job to its end and return its answer, ignoring its progress.

    Raises
    ------
    Exception
        Whatever the job raises.
    """
    while True:
        try:
            next(job)
            heed_stop()
        except StopIteration as finished:
            answer: Answer = finished.value
            return answer
