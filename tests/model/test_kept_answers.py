"""Answers are kept by content: equal values to the bit find them again, anything else does not, and memory is bounded."""

from dataclasses import dataclass

import numpy as np
import pytest

from dryfit.geometry import Surface
from dryfit.model.arrays import frozen
from dryfit.model.content import Contents
from dryfit.model.kept_answers import KeptAnswers, size_bytes
from dryfit.model.progress import Progress, drain
from shapes import sheet


@dataclass(frozen=True)
class Value:
    numbers: np.ndarray
    name: str = ""


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (0.1, np.nextafter(0.1, 1.0)),
        (0.0, -0.0),
        (1, 1.0),
        (True, 1),
        ("1", 1),
        (("a", "b"), ("ab",)),
        ((("a",), "b"), (("a", "b"),)),
        ({"a": 1}, {"a": 2}),
        (np.zeros(2), np.zeros(2, np.float32)),
        (np.zeros((2, 1)), np.zeros((1, 2))),
        (Value(np.zeros(2)), Value(np.zeros(2), "b")),
        (None, ()),
    ],
)
def test_different_values_have_different_contents(one, other):
    contents = Contents()
    assert contents.of(one) != contents.of(other)
    assert contents.of(one) == contents.of(one) == Contents().of(one)


def test_equal_values_have_one_content_whoever_holds_them():
    contents = Contents()
    assert contents.of(Value(np.arange(3))) == contents.of(Value(np.arange(6)[:3].copy()))
    assert contents.of(Surface(*sheet(10.0, 2))) == contents.of(Surface(*sheet(10.0, 2)))


def test_a_moved_surface_has_another_content():
    contents, (vertices, faces) = Contents(), sheet(10.0, 2)
    surface = Surface(vertices, faces)
    before = contents.of(surface)
    assert contents.of(surface.refit(vertices + 1.0)) != before
    assert contents.of(surface.refit(vertices)) == before


def test_an_array_that_took_the_place_of_a_dead_one_is_read_afresh():
    contents, seen = Contents(), set()
    for number in range(50):
        seen.add(contents.of(frozen([number], np.int64)))
    assert len(seen) == 50


def test_what_has_no_known_content_is_refused():
    with pytest.raises(TypeError, match="function"):
        Contents().of(len, lambda: 0)


def counting(calls):
    def find(value):
        calls.append(value)
        return np.full(1000, value)

    return find


def test_a_question_is_worked_out_once():
    kept, calls = KeptAnswers(), []
    find = counting(calls)
    assert kept.of(find, 1.0) is kept.of(find, 1.0)
    kept.of(find, 2.0)
    assert calls == [1.0, 2.0]
    assert (kept.worked_out, kept.taken) == (2, 1)


def test_an_answer_that_is_changed_is_an_error():
    found = KeptAnswers().of(Value, np.zeros(3))
    with pytest.raises(ValueError, match="read-only"):
        found.numbers[0] = 1.0


def test_an_answer_of_none_is_an_answer():
    kept, calls = KeptAnswers(), []
    assert [kept.of(calls.append, 1), kept.of(calls.append, 1)] == [None, None]
    assert calls == [1]


def test_a_long_search_is_kept_and_then_takes_no_steps():
    def search(value):
        yield Progress(0, 1, "searching")
        return value + 1

    kept = KeptAnswers()
    assert drain(kept.job(search, 1)) == 2
    assert next(kept.job(search, 2)).label == "searching"
    with pytest.raises(StopIteration):
        next(kept.job(search, 1))


def test_what_was_not_asked_for_longest_goes_first():
    kept, calls = KeptAnswers(0.035), []
    find = counting(calls)
    for value in (1.0, 2.0, 3.0, 1.0, 4.0, 5.0, 1.0, 2.0):
        kept.of(find, value)
    assert calls == [1.0, 2.0, 3.0, 4.0, 5.0, 2.0]


def test_an_answer_too_large_for_its_memory_is_not_kept():
    kept, calls = KeptAnswers(0.01), []
    find = counting(calls)
    kept.of(find, 1.0), kept.of(find, 1.0)
    assert len(calls) == 2


def test_the_size_of_a_value_counts_what_it_holds_once():
    numbers = np.zeros(1000)
    assert 8000 < size_bytes((Value(numbers), {"a": numbers})) < 9000
    assert size_bytes(Surface(*sheet(10.0, 20))) > 800 * 160


def test_what_several_answers_hold_counts_once_and_until_the_last_goes():
    kept = KeptAnswers(most_mb=10.0)
    shared = frozen(np.zeros(250_000), np.float64)  # 2 MB
    for number in range(20):
        kept.keep(bytes([number]), (number, shared))
    assert all(kept.recall(bytes([number])) for number in range(20))
    for number in range(100, 104):
        kept.keep(bytes([number]), (number, np.full(250_000, float(number))))  # 8 MB more: the oldest make room
    assert kept._bytes <= 10e6
    assert kept.recall(bytes([103]))
    for number in range(104, 110):
        kept.keep(bytes([number]), (number, np.full(250_000, float(number))))
    assert not any(kept.recall(bytes([number])) for number in range(20))
    assert kept._bytes == sum(size_bytes(answer) for answer, _ in kept._answers.values())
