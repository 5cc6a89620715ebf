"""The same work on a real Dask scheduler with workers in processes of their own, on loopback."""

import io
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
import zipfile
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import replace

import numpy as np
import pytest

from dryfit.batch import cluster as cluster_module
from dryfit.batch.batch import batch_tasks, run_batch
from dryfit.batch.cluster import NoCluster, finished_on_cluster
from dryfit.batch.local import finished_here
from dryfit.model.progress import drain
from dryfit.model.snapshot_file import save_snapshot
from shapes import sheet, worn

pytestmark = pytest.mark.slow

pytest.importorskip("distributed")
psutil = pytest.importorskip("psutil")  # comes with distributed
VARIANTS = 10


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("variants")
    for number in range(VARIANTS):
        piece = sheet(60.0, 60, lambda x, y, number=number: 1.0 - 0.3 * number + 0 * x)
        save_snapshot(worn(sheet(160.0, 80), piece), place / f"{number:02}.npz")
    (place / "torn.npz").write_bytes(b"not a zip")
    return place


@contextmanager
def workers(count, *options):
    """A scheduler and workers of its own; yields its address and all processes, the scheduler first."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    address = f"tcp://127.0.0.1:{port}"
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    start = [sys.executable, "-m", "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", str(port)]
    processes = [subprocess.Popen([*start, "--dashboard-address", "127.0.0.1:0"], **quiet)]
    worker = [sys.executable, "-m", "distributed.cli.dask_worker", address, "--nthreads", "1", *options]
    worker += ["--host", "127.0.0.1", "--dashboard-address", "127.0.0.1:0"]
    processes += [subprocess.Popen(worker, **quiet) for _ in range(count)]
    try:
        yield address, processes
    finally:
        for process in processes:
            process.kill()
            process.wait()


@pytest.fixture
def cluster():
    with workers(2, "--no-nanny") as made:
        yield made


def tasks_for(folder, out):
    return batch_tasks(folder, None, out, only=("additive", "edge"), pictures=False)


def test_a_cluster_gives_what_this_machine_gives(folder, cluster, tmp_path):
    here, there = (tasks_for(folder, tmp_path / name) for name in ("here", "there"))
    local = drain(run_batch(here, finished_here(here, 2, 120.0, 0), tmp_path / "here"))
    remote = drain(run_batch(there, finished_on_cluster(there, cluster[0], 120.0), tmp_path / "there"))
    assert remote.complete
    assert [row.body() for row in remote.rows] == [row.body() for row in local.rows]
    one, two = (json.loads((tmp_path / name / "batch.json").read_bytes())["variants"] for name in ("here", "there"))
    assert one == two


def test_a_worker_killed_on_the_way_loses_nothing(folder, cluster, tmp_path):
    address, processes = cluster
    tasks = tasks_for(folder, tmp_path / "out")
    rows = {}
    for number, row in finished_on_cluster(tasks, address, 120.0):
        rows[number] = row
        if len(rows) == 2:
            os.kill(processes[2].pid, signal.SIGKILL)
    assert sorted(rows) == list(range(VARIANTS + 1))
    assert {row.source for row in rows.values() if row.verdict == "unusable"} == {"torn.npz"}


def test_a_scheduler_that_does_not_answer_is_named(monkeypatch):
    assert cluster_module.ANSWERS_WITHIN_S < 120
    monkeypatch.setattr(cluster_module, "ANSWERS_WITHIN_S", 2)
    started = time.monotonic()
    with pytest.raises(NoCluster, match=r"127\.0\.0\.1:9"):
        next(finished_on_cluster([], "tcp://127.0.0.1:9", 120.0))
    assert time.monotonic() - started < 60


NEVER = """
import pathlib, time
pathlib.Path(__file__).with_name("reached").touch()
time.sleep(1000)
"""


@pytest.fixture
def endless(tmp_path, monkeypatch):
    """A folder with a module in Blender's place that never comes to its end, found by what is started from here."""
    place = tmp_path / "stand-in"
    place.mkdir()
    never_ending_blender(place, monkeypatch)
    return place


def never_ending_blender(place, patch):
    (place / "bpy.py").write_text(NEVER)
    patch.setenv("PYTHONPATH", os.pathsep.join([str(place), os.environ.get("PYTHONPATH", "")]))


def hanging(task, place):
    """The same task with a file that Blender never comes to the end of."""
    (place / "never.blend").write_bytes(b"BLENDER-v402" + bytes(200))
    return replace(task, file=str(place / "never.blend"), root="")


def huge(task, place):
    """The same task with a file that asks for 4.8 GB, more than it may use and less than a machine would give it."""
    with zipfile.ZipFile(task.file) as whole:
        members = {name: whole.read(name) for name in whole.namelist()}
    head = io.BytesIO()
    np.lib.format.write_array_header_1_0(head, {"descr": "<f8", "fortran_order": False, "shape": (200_000_000, 3)})
    members["part1.vertices_mm.npy"] = head.getvalue()
    with zipfile.ZipFile(place / "huge.npz", "w") as changed:
        for name, content in members.items():
            changed.writestr(name, content)
    return replace(task, file=str(place / "huge.npz"), folder="huge", root="")


NANNIES = ("--nanny", "--no-nanny")


@pytest.fixture(scope="module")
def with_hanging_and_huge(folder, tmp_path_factory):
    """What a worker made of tasks of which one hangs and one is huge: tasks, rows, who is left of what it started.

    Both kinds of worker wait at the same time: for most of it nobody has anything to do.
    """
    places = {nanny: tmp_path_factory.mktemp("costly") for nanny in NANNIES}
    with pytest.MonkeyPatch.context() as patch, ThreadPoolExecutor(len(NANNIES)) as both:
        never_ending_blender(tmp_path_factory.mktemp("never"), patch)
        found = {nanny: both.submit(hung_and_huge, folder, place, nanny) for nanny, place in places.items()}
        return {nanny: each.result() for nanny, each in found.items()}


def hung_and_huge(folder, place, nanny):
    first, second, third, *others = tasks_for(folder, place / "out")[:6]
    tasks = [first, hanging(second, place), huge(third, place), *others]
    with workers(1, nanny) as (address, processes):
        rows = dict(finished_on_cluster(tasks, address, 20.0, 2048))
        return tasks, rows, spawned(processes[1])


@pytest.mark.parametrize("nanny", NANNIES)
def test_a_variant_that_hangs_or_eats_memory_costs_only_itself(with_hanging_and_huge, nanny):
    tasks, rows, left = with_hanging_and_huge[nanny]
    assert sorted(rows) == list(range(len(tasks)))
    assert "took longer than 20 s" in rows[1].reason
    assert "more memory than a worker may use" in rows[2].reason
    assert {rows[number].verdict for number in (0, 3, 4, 5)} <= {"fail", "review", "pass", "not_checked"}
    assert len(left) == (nanny == "--nanny"), "only the worker itself is left: children end with the batch"


def test_a_worker_that_is_killed_takes_its_hanging_child_along(folder, tmp_path, endless):
    task = hanging(tasks_for(folder, tmp_path / "out")[0], tmp_path)
    with workers(1, "--no-nanny") as (address, processes):
        asking = threading.Thread(target=ask_in_vain, args=[task, address], daemon=True)
        asking.start()
        waited_for((endless / "reached").exists)
        (child,) = spawned(processes[1])
        processes[1].kill()
        processes[1].wait()
        waited_for(lambda: not child.is_running() or child.status() == psutil.STATUS_ZOMBIE)


def test_a_worker_with_a_hanging_child_leaves_when_it_is_told_to(folder, tmp_path, endless):
    task = hanging(tasks_for(folder, tmp_path / "out")[0], tmp_path)
    with workers(1, "--nanny") as (address, processes):
        threading.Thread(target=ask_in_vain, args=[task, address], daemon=True).start()
        waited_for((endless / "reached").exists)
        family = spawned(processes[1])
        assert len(family) == 2, "the nanny's worker, and its child"
        processes[1].terminate()
        processes[1].wait(60)
        waited_for(lambda: not any(each.is_running() for each in family))


def ask_in_vain(task, address):
    with suppress(Exception):  # the cluster is gone before it answers
        list(finished_on_cluster([task], address, 600.0))


def spawned(process):
    """The living processes that Python's multiprocessing started below a process."""
    if process.poll() is not None:
        return []
    return [each for each in psutil.Process(process.pid).children(recursive=True) if is_spawned(each)]


def is_spawned(process):
    try:
        return "spawn_main" in " ".join(process.cmdline())
    except psutil.Error:
        return False


def waited_for(answer, seconds=300.0):
    deadline = time.monotonic() + seconds
    while not (found := answer()):
        assert time.monotonic() < deadline, "it never came"
        time.sleep(0.1)
    return found
