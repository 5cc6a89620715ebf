"""A job beside the interface: its answer, its errors and its end come from a thread that nobody waits for."""

import threading
import time

import pytest

from dryfit.model.progress import Progress
from dryfit.ui.worker import Worker

START = Progress(0, 1, "start")


def ended(worker):
    until = time.monotonic() + 5.0
    while not worker.finished:
        assert time.monotonic() < until, "never ended"
        time.sleep(0.005)
    return worker


def counting(threads):
    for number in range(3):
        threads.append(threading.current_thread().name)
        yield Progress(number, 3, f"step {number}")
    return 42


def test_it_answers_from_another_thread():
    threads = []
    worker = ended(Worker(counting(threads), START))
    assert worker.answer() == 42 and worker.step == Progress(2, 3, "step 2")
    assert set(threads) == {"dryfit"} and threading.current_thread().name != "dryfit"


def test_what_the_job_raises_is_raised_where_the_answer_is_asked_for():
    def failing():
        yield START
        raise ValueError("no lips")

    worker = ended(Worker(failing(), START))
    with pytest.raises(ValueError, match="no lips"):
        worker.answer()


def test_stopping_waits_for_nobody_and_closes_the_job_after_its_step():
    held, closed = threading.Event(), []

    def endless():
        try:
            while True:
                yield START
                held.wait(0.05)
        finally:
            closed.append(True)

    worker = Worker(endless(), START)
    before = time.perf_counter()
    worker.stop()
    assert time.perf_counter() - before < 0.05
    ended(worker)
    assert closed == [True]
