"""The time left, against jobs whose pace is known."""

import pytest

from dryfit.model.time_left import PACE_STEPS, TimeLeft, in_words


class Clock:
    def __init__(self):
        self.now = 100.0

    def __call__(self):
        return self.now


def said(pace_s, total, upto):
    """The words after ``upto`` of ``total`` steps; ``pace_s`` gives each step's seconds."""
    clock = Clock()
    left, words = TimeLeft(clock), ""
    for step in range(upto):
        clock.now += pace_s(step)
        words = left.words_at((step + 1) / total)
    return words


@pytest.mark.parametrize(
    ("each_s", "total", "upto", "words"),
    [
        (6.0, 100, 50, "about 5 min left"),
        (6.0, 100, 90, "about 60 s left"),
        (60.0, 1000, 100, "about 15.0 h left"),
        (6.0, 100, 1, ""),
        (0.1, 50, 40, ""),
        (6.0, 100, 100, ""),
    ],
)
def test_an_even_pace_gives_the_time_left_to_the_second(each_s, total, upto, words):
    assert said(lambda step: each_s, total, upto) == words


def test_results_kept_from_an_earlier_run_do_not_promise_an_early_end():
    kept = 500
    words = said(lambda step: 0.001 if step < kept else 6.0, 1000, kept + PACE_STEPS + 60)
    assert words == "about 40 min left"


def test_units_of_time():
    assert [in_words(s) for s in (0.2, 89, 95, 5000, 7200)] == ["1 s", "89 s", "2 min", "83 min", "2.0 h"]
