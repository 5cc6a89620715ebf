"""What is half written is named so, and what a killed process left of it is swept by the next one that writes there."""

import os
import signal
import subprocess
import sys
import time

import numpy as np
import pytest

from dryfit.batch.variant_files import variant_files
from dryfit.model import part_files
from dryfit.model.brief import Brief
from dryfit.model.part_files import FOREIGN_S, is_part, part_beside, sweep_parts
from dryfit.model.snapshot import Part, Snapshot
from dryfit.model.snapshot_file import save_snapshot
from dryfit.report.whole_files import write_whole

SQUARE = Snapshot("square", parts=(Part("Scan", "base", np.eye(3), np.array([[0, 1, 2]])),))
WRITES_FOR_EVER = """
import sys, itertools, pathlib
from dryfit.report.whole_files import write_whole
def forever():
    print("begun", flush=True)
    yield from itertools.repeat(b"." * 1000)
write_whole(pathlib.Path(sys.argv[1]), {"report.json": forever()})
"""


def part_of(process, machine=None):
    name = part_beside(part_files.Path("warden.blend")).name
    tag = f"{os.getpid()}-{part_files._machine()}"
    assert tag in name
    return name.replace(tag, f"{process}-{machine or part_files._machine()}")


@pytest.fixture
def gone():
    """The number of a process that is no more."""
    process = subprocess.Popen([sys.executable, "-c", ""])
    process.wait()
    return process.pid


@pytest.mark.skipif(os.name != "posix", reason="asks the system which processes run")
def test_parts_of_processes_that_are_gone_are_swept_and_no_others(tmp_path, gone):
    swept = [part_of(gone), part_of(gone) + "@", f".report.json.{gone}-{part_files._machine()}.part"]
    kept = [part_of(os.getpid()), part_of(1), part_of(gone, "abcdef"), ".hidden.blend", "warden.part.blend",
            f"warden.{gone}-{part_files._machine()}.part.blend", f".x.{gone}.part.blend"]  # fmt: skip
    for name in (*swept, *kept):
        (tmp_path / name).write_bytes(b"")
    sweep_parts([tmp_path, tmp_path / "nowhere"])
    assert {path.name for path in tmp_path.iterdir()} == {*kept}


def test_parts_of_another_machine_are_swept_when_nobody_wrote_to_them_for_a_day(tmp_path):
    old, new = (tmp_path / part_of(number, "abcdef") for number in (1, 2))
    for path in (old, new):
        path.write_bytes(b"")
    then = time.time() - FOREIGN_S - 60.0
    os.utime(old, (then, then))
    sweep_parts([tmp_path])
    assert [*tmp_path.iterdir()] == [new]


@pytest.mark.skipif(os.name != "posix", reason="kills a process as POSIX does")
def test_what_a_killed_process_left_is_gone_after_the_next_writing(tmp_path):
    writing = subprocess.Popen([sys.executable, "-c", WRITES_FOR_EVER, str(tmp_path)], stdout=subprocess.PIPE)
    assert writing.stdout.readline() == b"begun\n"
    writing.send_signal(signal.SIGKILL)
    writing.wait()
    (left,) = tmp_path.iterdir()
    assert is_part(left.name)
    write_whole(tmp_path, {"other.json": b"{}"})
    assert [path.name for path in tmp_path.iterdir()] == ["other.json"]


def test_a_batch_takes_neither_parts_nor_hidden_files_for_variants(tmp_path):
    for name in (
        "warden.npz",
        "upper.part.npz",
        ".hidden.npz",
        ".warden.123-abcdef.part.npz",
        "warden.123-abcdef.part.npz",
        ".w.4711.part.blend",
        "w.4711.part.blend",
    ):
        save_snapshot(SQUARE, tmp_path / "written.npz").replace(tmp_path / name)
    assert [path.name for path in variant_files(tmp_path, Brief())] == ["upper.part.npz", "warden.npz"]


def test_a_part_keeps_the_ending_of_its_file_and_is_hidden(tmp_path):
    for name in ("warden.blend", "report.json", "plain"):
        part = part_beside(tmp_path / name)
        assert part.parent == tmp_path
        assert part.name.startswith(".")
        assert part.suffix == ((tmp_path / name).suffix or ".part")
        assert is_part(part.name) and is_part(part.name + "@")
        assert not is_part(name)
