"""A job run as a part of another: its steps told anew, its answer and its end as they are."""

import pytest

from dryfit.model.progress import Progress, drain, retold


def part(log):
    try:
        yield Progress(1, 2, "half")
        yield Progress(2, 2, "whole")
        return "answer"
    finally:
        log.append("closed")


def test_steps_are_told_anew_and_the_answer_is_the_part_s():
    log, seen = [], []

    def told(step):
        seen.append(step.label)
        return Progress(3 + step.fraction, 5, step.label)

    job = retold(part(log), told)
    assert next(job) == Progress(3.5, 5, "half")
    assert drain(job) == "answer"
    assert seen == ["half", "whole"] and log == ["closed"]


def test_a_part_is_closed_with_the_whole_and_where_its_steps_are_not_wanted():
    log = []
    job = retold(part(log), lambda step: step)
    next(job)
    job.close()
    assert log == ["closed"]

    def unwanted(step):
        raise KeyError(step.label)

    with pytest.raises(KeyError, match="half"):
        drain(retold(part(log), unwanted))
    assert log == ["closed", "closed"]
