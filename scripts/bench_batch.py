"""Folders of 10, 100 and 1,000 synthetic variants on one base: throughput, memory, what a batch costs beside checks."""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import platform
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

from dryfit import load_snapshot
from dryfit.checks.runner import run_fitting
from dryfit.model.admission import admit
from dryfit.model.brief import Brief
from dryfit.model.progress import drain
from dryfit.performer.fitting import Fitting
from dryfit.performer.indexed_bases import IndexedBases

COUNTS = (10, 100, 1000)
BARE_VARIANTS = 40
CHECKS = "additive,edge,thickness,load"
RESULTS = Path(__file__).parent / "bench_results"
PARENT = """
import resource, sys
from dryfit.batch.peak_memory import peak_mb
from dryfit.cli import main
code = main(sys.argv[1:])
own, workers = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
seconds = [used.ru_utime + used.ru_stime for used in (own, workers)]
print("MEASURED", peak_mb(), *seconds, file=sys.stderr)
"""


@dataclass(frozen=True)
class Run:
    """One batch: processor seconds of parent and workers, wall seconds, and the memory of both."""

    variants: int
    jobs: int
    wall_s: float
    parent_cpu_s: float
    workers_cpu_s: float
    bare_cpu_s: float
    shared_cpu_s: float
    parent_mb: float
    worker_first_mb: float
    worker_last_mb: float
    resume_wall_s: float

    @property
    def per_core_hour(self) -> float:
        """Variants for each hour of one core's processor time, everything counted."""
        return 3600.0 * self.variants / (self.parent_cpu_s + self.workers_cpu_s)

    @property
    def overhead(self) -> float:
        """Processor time beside loading and checking, over that of loading and checking."""
        return (self.parent_cpu_s + self.workers_cpu_s) / (self.bare_cpu_s * self.variants) - 1.0

    @property
    def overhead_shared(self) -> float:
        """The same over loading and checking in processes that index the base once: what sharing cannot win."""
        return (self.parent_cpu_s + self.workers_cpu_s) / (self.shared_cpu_s * self.variants) - 1.0


def add_to(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Give the bench its ``batch`` command."""
    batch = commands.add_parser("batch", help="folders of 10, 100 and 1,000 small synthetic variants")
    batch.add_argument("--counts", type=int, nargs="+", default=list(COUNTS))
    batch.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    batch.add_argument(
        "--steps", type=int, default=80, help="squares along the base's edge (default 80: 12,800 triangles)"
    )
    batch.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Measure, print and keep the table; nothing is asserted on time."""
    os.environ["DRYFIT_THREADS"] = "1"
    runs = []
    for count in arguments.counts:
        with tempfile.TemporaryDirectory() as place:
            folder = Path(place) / "variants"
            write_variants(folder, count, arguments.steps)
            runs.append(measured(folder, Path(place) / "out", arguments.jobs, count))
        print(row(runs[-1]), flush=True)
    RESULTS.mkdir(exist_ok=True)
    (RESULTS / "batch.json").write_text(json.dumps([asdict(each) for each in runs], indent=1) + "\n")
    (RESULTS / "batch.md").write_text(table(runs, arguments.steps))
    draw(runs, RESULTS / "batch.png")
    return 0


def write_variants(folder: Path, count: int, steps: int) -> None:
    """Write variants of one gently domed base, each with a piece of its own height and dent."""
    from dryfit.model.snapshot import Part, Snapshot
    from dryfit.model.snapshot_file import save_snapshot

    folder.mkdir()
    base = Part("Scan", "base", *sheet(180.0, steps, lambda x, y: -0.002 * (x**2 + y**2)))
    rng = np.random.default_rng(1910)
    for number in range(count):
        lift, dent, at = rng.uniform(1.0, 6.0), rng.uniform(0.0, 8.0), rng.uniform(-10.0, 10.0, 2)
        piece = sheet(70.0, steps // 2, lambda x, y, a=lift, b=dent, c=at: domed_piece(x, y, a, b, c))
        parts = (base, Part("Piece", "appliance", *piece, material="silicone"))
        save_snapshot(Snapshot(f"warden {number:05}", parts=parts), folder / f"{number:05}.npz")


def domed_piece(x: np.ndarray, y: np.ndarray, lift: float, dent: float, at: np.ndarray) -> np.ndarray:
    """Return the height of a piece that feathers to nothing at its rim, with a dent."""
    rim = np.clip((35.0 - np.maximum(abs(x), abs(y))) / 20.0, 0.0, 1.0)
    return -0.002 * (x**2 + y**2) + lift * rim - dent * np.exp(-((x - at[0]) ** 2 + (y - at[1]) ** 2) / 30.0)


def sheet(width_mm: float, steps: int, height) -> tuple[np.ndarray, np.ndarray]:  # type: ignore[no-untyped-def] # noqa: ANN001
    """Return a square height field and its triangles."""
    line = np.linspace(-width_mm / 2, width_mm / 2, steps + 1)
    x, y = (grid.ravel() for grid in np.meshgrid(line, line, indexing="ij"))
    i, j = (grid.ravel() for grid in np.meshgrid(np.arange(steps), np.arange(steps), indexing="ij"))
    a = i * (steps + 1) + j
    faces = np.concatenate([np.stack([a, a + steps + 1, a + steps + 2], 1), np.stack([a, a + steps + 2, a + 1], 1)])
    return np.stack([x, y, height(x, y)], axis=1), faces


def measured(folder: Path, out: Path, jobs: int, count: int) -> Run:
    """Run one batch in a process of its own, and once more with --resume, which finds everything done.

    Bare checks are timed before and after: processors of shared machines change their pace by a tenth and more.
    """
    command = ["batch", str(folder), "--out", str(out), "--jobs", str(jobs), "--only", CHECKS, "--no-pictures"]
    before, shared_before = bare_at_once(folder, jobs, False), bare_at_once(folder, jobs, True)
    started = time.perf_counter()
    own_mb, own_s, workers_s = parent([*command, "--fail-on", "never"])
    wall_s = time.perf_counter() - started
    stored = json.loads((out / "batch.json").read_text(encoding="utf8"))
    assert stored["complete"]
    peaks = [cost["peak_mb"] for cost in stored["cost"].values()]
    tenth = max(jobs, count // 10)
    started = time.perf_counter()
    parent([*command, "--fail-on", "never", "--resume"])
    resume_s = time.perf_counter() - started
    return Run(
        variants=count,
        jobs=jobs,
        wall_s=wall_s,
        parent_cpu_s=own_s,
        workers_cpu_s=workers_s,
        bare_cpu_s=(before + bare_at_once(folder, jobs, False)) / 2.0,
        shared_cpu_s=(shared_before + bare_at_once(folder, jobs, True)) / 2.0,
        parent_mb=own_mb,
        worker_first_mb=max(peaks[:tenth]),
        worker_last_mb=max(peaks[-tenth:]),
        resume_wall_s=resume_s,
    )


def parent(command: list[str]) -> tuple[float, float, float]:
    """Run the command line; return its own peak MB and processor seconds, and its workers' seconds."""
    done = subprocess.run([sys.executable, "-c", PARENT, *command], capture_output=True, text=True, check=True)
    words = next(line for line in done.stderr.splitlines() if line.startswith("MEASURED")).split()
    return float(words[1]), float(words[2]), float(words[3])


def bare_at_once(folder: Path, jobs: int, shared: bool) -> float:
    """Return the mean of ``bare_seconds`` in as many processes as the batch has: two cores share caches and heat."""
    with ProcessPoolExecutor(jobs, mp_context=multiprocessing.get_context("spawn")) as pool:
        return statistics.mean(pool.map(bare_seconds, [folder] * jobs, [shared] * jobs))


def bare_seconds(folder: Path, shared: bool) -> float:
    """Return processor seconds of loading and checking one variant, one after the other, nothing written.

    Where ``shared``, the base is indexed once, as a batch's worker does; else every design does it again.
    """
    bases = IndexedBases() if shared else None
    files = sorted(folder.glob("*.npz"))[:BARE_VARIANTS]
    check_bare(files[0], bases)
    before = resource.getrusage(resource.RUSAGE_SELF)
    for file in files:
        check_bare(file, bases)
    after = resource.getrusage(resource.RUSAGE_SELF)
    return (after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime) / len(files)


def check_bare(file: Path, bases: IndexedBases | None) -> None:
    """Load and check one variant."""
    fitting = Fitting(admit(load_snapshot(file)), Brief(), bases)
    drain(run_fitting(fitting, tuple(CHECKS.split(","))))


def row(run: Run) -> str:
    """Return one line of the table."""
    cpu_s = run.parent_cpu_s + run.workers_cpu_s
    return (
        f"| {run.variants:,} | {run.jobs} | {run.wall_s:.0f} | {cpu_s / run.variants:.3f} | {run.bare_cpu_s:.3f} "
        f"| {run.shared_cpu_s:.3f} | {100 * run.overhead:+.0f} % | {100 * run.overhead_shared:+.0f} % "
        f"| {run.per_core_hour:,.0f} | {run.parent_mb:.0f} | {run.worker_first_mb:.0f} "
        f"| {run.worker_last_mb:.0f} | {run.resume_wall_s:.1f} |"
    )


def table(runs: list[Run], steps: int) -> str:
    """Return the table as a page."""
    head = (
        "| variants | workers | wall s | processor s each | bare s each | bare s, base shared | over bare "
        "| over bare, base shared | each core-hour | parent MB | worker MB, first tenth | last tenth "
        "| --resume, all kept, s |"
    )
    return "\n".join(
        [
            "# Batches of synthetic variants",
            "",
            f"Base {2 * steps**2:,} triangles, piece {2 * (steps // 2) ** 2:,}; checks {CHECKS.replace(',', ', ')}; "
            f"report.json for each (--no-pictures). {platform.machine()}, {os.cpu_count()} cores, "
            f"Python {platform.python_version()}. Processor seconds count parent, workers and their start; "
            "bare is loading and checking in as many processes, nothing written; the base is indexed for each "
            "design, or once where it is said to be shared.",
            "",
            head,
            "|" + "---|" * 13,
            *map(row, runs),
            "",
            "![throughput and memory](batch.png)",
            "",
        ]
    )


def draw(runs: list[Run], path: Path) -> None:
    """Plot throughput for each core and memory over the number of variants."""
    from matplotlib.figure import Figure

    counts = [each.variants for each in runs]
    figure = Figure(figsize=(9, 3.5), layout="constrained")
    speed, memory = figure.subplots(1, 2)
    speed.semilogx(counts, [each.per_core_hour for each in runs], "o-", label="batch, everything counted")
    speed.semilogx(counts, [3600 / each.bare_cpu_s for each in runs], "s--", label="bare checks")
    speed.set(xlabel="variants", ylabel="variants for each core-hour", ylim=(0, None))
    memory.semilogx(counts, [each.parent_mb for each in runs], "o-", label="parent")
    memory.semilogx(counts, [each.worker_last_mb for each in runs], "s--", label="worker, last tenth")
    memory.set(xlabel="variants", ylabel="greatest memory, MB", ylim=(0, None))
    for axes in (speed, memory):
        axes.legend()
    figure.savefig(path, dpi=100)
