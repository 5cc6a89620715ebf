"""Answers kept in a folder: the next process finds them, and nothing but values ever comes out of it."""

import os
import pickle
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from dryfit.geometry import Surface
from dryfit.model import answer_folder
from dryfit.model.answer_folder import DIGEST, AnswerFolder, shared_folder
from dryfit.model.content import Contents
from dryfit.model.kept_answers import KeptAnswers
from dryfit.model.snapshot import Part, Role
from dryfit.model.trusted_pickle import NotTrusted, least_bytes, packed, unpacked_value
from shapes import sheet

LONG_S = 60.0
KEY = b"what was asked"


@dataclass(frozen=True)
class Foreign:
    number: int


def part():
    vertices, faces = sheet(10.0, 2)
    return Part("piece", Role.APPLIANCE, vertices, faces, areas={"rim": np.linspace(0.0, 1.0, len(vertices))})


def test_what_one_process_wrote_another_reads_equal_to_the_bit(tmp_path):
    value = (part(), {"a": np.array([np.nan, -0.0, 1e-300]), "b": (np.float64(0.1), Role.BASE, None, True, "words")})
    AnswerFolder(tmp_path).write(KEY, value, LONG_S)
    (read,) = AnswerFolder(tmp_path).read(KEY)
    contents = Contents()
    assert contents.of(read) == contents.of(value)
    assert read[1]["a"].base is None  # so that it can be frozen for good


def test_an_indexed_surface_comes_back_as_it_was(tmp_path):
    surface = Surface(*sheet(10.0, 2), facing_out=True)
    AnswerFolder(tmp_path).write(KEY, surface, LONG_S)
    (read,) = AnswerFolder(tmp_path).read(KEY)
    points = np.random.default_rng(3).normal(size=(50, 3)) * 5.0
    assert read.content == surface.content
    np.testing.assert_array_equal(read.clearance_mm(points), surface.clearance_mm(points))


def test_kept_answers_are_worked_out_once_for_all_processes(tmp_path, monkeypatch):
    monkeypatch.setattr(answer_folder, "LEAST_S", 0.0)
    monkeypatch.setattr(answer_folder, "LEAST_S_PER_MB", 0.0)
    asked = []

    def double(values):
        asked.append(1)
        return values * 2.0

    first, second = (KeptAnswers(folder=lambda: AnswerFolder(tmp_path)) for _ in range(2))
    answers = [kept.of(double, np.arange(3.0)) for kept in (first, first, second, second)]
    assert len(asked) == 1
    assert all((answer == [0.0, 2.0, 4.0]).all() and not answer.flags.writeable for answer in answers)
    assert second.of(double, np.arange(4.0)).tolist() == [0.0, 2.0, 4.0, 6.0]
    assert len(asked) == 2


def test_other_code_finds_nothing(tmp_path, monkeypatch):
    AnswerFolder(tmp_path).write(KEY, 1.0, LONG_S)
    assert AnswerFolder(tmp_path).read(KEY) == (1.0,)
    monkeypatch.setattr(answer_folder, "code_print", lambda: b"code that was changed")
    assert AnswerFolder(tmp_path).read(KEY) is None


def test_the_print_of_the_code_tells_any_change_of_it(tmp_path):
    program = "import sys; sys.path.insert(0, sys.argv[1]); from small.model.answer_folder import code_print; "
    model = tmp_path / "small" / "model"
    model.mkdir(parents=True)
    source = Path(answer_folder.__file__).parent
    for name in ("answer_folder", "part_files", "trusted_pickle", "pickling"):
        (model / f"{name}.py").write_bytes((source / f"{name}.py").read_bytes())
    prints = []
    for words in ("A = 1", "A = 1", "A = 2"):
        (tmp_path / "small" / "measuring.py").write_text(words, "utf8")
        command = [sys.executable, "-c", program + "print(code_print().hex())", str(tmp_path)]
        prints.append(subprocess.run(command, capture_output=True, text=True, check=True).stdout)
    assert prints[0] == prints[1] != prints[2]


@pytest.mark.parametrize(
    "damage", [lambda b: b[:-1], lambda b: b[:40], lambda b: b"", lambda b: b[:50] + b"x" + b[51:]]
)
def test_a_damaged_answer_is_none_and_goes_away(tmp_path, damage):
    AnswerFolder(tmp_path).write(KEY, np.arange(1000.0), LONG_S)
    (file,) = tmp_path.iterdir()
    file.write_bytes(damage(file.read_bytes()))
    assert AnswerFolder(tmp_path).read(KEY) is None
    assert not [*tmp_path.iterdir()]


class Runs:
    """What a stranger would put there: unpickling it runs a command."""

    def __init__(self, place):
        self.place = place

    def __reduce__(self):
        return os.mkdir, (str(self.place),)


@pytest.mark.parametrize("as_answer", [lambda runs: runs, lambda runs: (1.0, {"a": runs})])
def test_an_answer_that_would_run_code_is_refused(tmp_path, as_answer):
    folder, ran = AnswerFolder(tmp_path / "answers"), tmp_path / "ran"
    folder.write(KEY, 1.0, LONG_S)
    (file,) = folder.place.iterdir()
    body = pickle.dumps(as_answer(Runs(ran)), 4)
    file.write_bytes(DIGEST(body).digest() + body)
    assert folder.read(KEY) is None
    assert not ran.exists() and not file.exists()


@pytest.mark.parametrize(
    "words",
    [b"cbuiltins\neval\n(S'1'\ntR.", b"cos\nsystem\n(S'true'\ntR.", b"cfunctools\nreduce\n.", b"cnumpy\nload\n.",
     b"cdryfit.model.answer_folder\nshared_folder\n(tR.", b"cdryfit.model.answer_folder\nAnswerFolder\n."],
)  # fmt: skip
def test_only_classes_of_values_are_named(words):
    with pytest.raises(NotTrusted):
        unpacked_value(words)


@pytest.mark.parametrize("value", [lambda: 1, Foreign(1), len, (1, [os.environ])])
def test_what_could_not_be_read_again_is_not_written(tmp_path, value):
    assert packed(value) is None
    AnswerFolder(tmp_path).write(KEY, value, LONG_S)
    assert not [*tmp_path.iterdir()]


def test_what_is_quicker_worked_out_than_read_is_not_written(tmp_path):
    folder = AnswerFolder(tmp_path)
    folder.write(KEY, 1.0, 0.5 * answer_folder.LEAST_S)
    folder.write(KEY, np.zeros(2_000_000), 8.0 * answer_folder.LEAST_S_PER_MB)  # 16 MB
    assert not [*tmp_path.iterdir()]
    folder.write(KEY, np.zeros(2_000_000), 32.0 * answer_folder.LEAST_S_PER_MB)
    assert folder.read(KEY) is not None


def test_what_is_too_large_for_how_quick_it_was_is_not_even_packed(tmp_path, monkeypatch):
    monkeypatch.setattr(answer_folder, "packed", lambda value: pytest.fail("packed for nothing"))
    AnswerFolder(tmp_path).write(KEY, (np.zeros(2_000_000), 1.0), 8.0 * answer_folder.LEAST_S_PER_MB)


@pytest.mark.parametrize("count", [0, 100_000])
def test_what_a_value_takes_at_the_least_is_no_more_than_it_takes(count):
    array = np.arange(float(count))
    surface = Surface(*sheet(10.0, 20))
    for value in (array, [array, array], {"of": array}, (array.copy(), array.copy(), 1.0), surface, (surface, array)):
        assert 0 <= least_bytes(value) <= len(packed(value))
    assert least_bytes((array, [array])) == array.nbytes
    assert least_bytes((array, array.copy())) == 2 * array.nbytes


def test_what_was_used_longest_ago_goes_first(tmp_path):
    folder = AnswerFolder(tmp_path, most_mb=1.0)
    for number in range(9):
        folder.write(bytes([number]), np.full(12_500, float(number)), LONG_S)  # 0.1 MB each
        os.utime(folder._file(bytes([number])), (number, number))
    assert folder.read(bytes([0])) is not None  # used last now
    folder.write(b"new", np.zeros(25_000), LONG_S)
    folder.write(b"newer", np.zeros(25_000), LONG_S)
    assert folder.held_mb() <= 1.1
    assert folder.read(bytes([0])) is not None
    assert folder.read(bytes([1])) is None
    assert folder.read(b"newer") is not None


def test_a_folder_that_cannot_be_written_costs_nothing(tmp_path):
    (tmp_path / "file").write_text("no folder", "utf8")
    folder = AnswerFolder(tmp_path / "file" / "below")
    folder.write(KEY, 1.0, LONG_S)
    assert folder.read(KEY) is None
    assert folder.clear() == 0


def test_cleared_is_empty(tmp_path):
    folder = AnswerFolder(tmp_path)
    for key in (b"1", b"2"):
        folder.write(key, 1.0, LONG_S)
    assert folder.clear() == 2
    assert not [*tmp_path.iterdir()]


@pytest.mark.skipif(os.name != "posix", reason="asks who may write")
def test_a_folder_that_others_may_write_is_not_read(tmp_path, monkeypatch):
    place = tmp_path / "answers"
    monkeypatch.setenv("DRYFIT_CACHE", str(place))
    shared_folder().write(KEY, 1.0, LONG_S)
    assert place.stat().st_mode & 0o077 == 0
    place.chmod(0o777)
    assert shared_folder() is None
    for off in ("0", ""):
        monkeypatch.setenv("DRYFIT_CACHE", off)
        assert shared_folder() is None
