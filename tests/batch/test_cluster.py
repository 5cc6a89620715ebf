"""The same work on a real Dask scheduler with workers in processes of their own, on loopback."""

import os
import signal
import socket
import subprocess
import sys
import time

import pytest

from dryfit.batch.batch import batch_tasks, run_batch
from dryfit.batch.cluster import NoCluster, finished_on_cluster
from dryfit.batch.local import finished_here
from dryfit.model.progress import drain
from dryfit.model.snapshot_file import save_snapshot
from shapes import sheet, worn

pytest.importorskip("distributed")
VARIANTS = 10


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("variants")
    for number in range(VARIANTS):
        piece = sheet(60.0, 60, lambda x, y, number=number: 1.0 - 0.3 * number + 0 * x)
        save_snapshot(worn(sheet(160.0, 80), piece), place / f"{number:02}.npz")
    (place / "torn.npz").write_bytes(b"not a zip")
    return place


@pytest.fixture
def cluster():
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    address = f"tcp://127.0.0.1:{port}"
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    start = [sys.executable, "-m", "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", str(port)]
    processes = [subprocess.Popen([*start, "--dashboard-address", "127.0.0.1:0"], **quiet)]
    worker = [sys.executable, "-m", "distributed.cli.dask_worker", address, "--nthreads", "1", "--no-nanny"]
    worker += ["--host", "127.0.0.1", "--dashboard-address", "127.0.0.1:0"]
    processes += [subprocess.Popen(worker, **quiet) for _ in range(2)]
    yield address, processes
    for process in processes:
        process.kill()
        process.wait()


def tasks_for(folder, out):
    return batch_tasks(folder, None, out, only=("additive", "edge"), pictures=False)


def test_a_cluster_gives_what_this_machine_gives(folder, cluster, tmp_path):
    here, there = (tasks_for(folder, tmp_path / name) for name in ("here", "there"))
    local = drain(run_batch(here, finished_here(here, 2, 120.0, 0), tmp_path / "here"))
    remote = drain(run_batch(there, finished_on_cluster(there, cluster[0]), tmp_path / "there"))
    assert remote.complete
    assert [row.body() for row in remote.rows] == [row.body() for row in local.rows]


def test_a_worker_killed_on_the_way_loses_nothing(folder, cluster, tmp_path):
    address, processes = cluster
    tasks = tasks_for(folder, tmp_path / "out")
    rows = {}
    for number, row in finished_on_cluster(tasks, address):
        rows[number] = row
        if len(rows) == 2:
            os.kill(processes[2].pid, signal.SIGKILL)
    assert sorted(rows) == list(range(VARIANTS + 1))
    assert {row.source for row in rows.values() if row.verdict == "unusable"} == {"torn.npz"}


def test_a_scheduler_that_does_not_answer_is_named():
    started = time.monotonic()
    with pytest.raises(NoCluster, match=r"127\.0\.0\.1:9"):
        next(finished_on_cluster([], "tcp://127.0.0.1:9"))
    assert time.monotonic() - started < 120
