"""A night's variants: full designs on one head, each with another piece changed, by the code of a commit and by this.

Every variant is one of the six wardens with a stroke on a piece of its own choice; old and new code measure the same
files with ``batch``, each with as many workers. What they say is compared. Processor seconds count parent and workers
with their start, and for the new code what it takes to fill a folder of answers that was empty.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

import bench_against
from bench_batch import PARENT

RESULTS = Path(__file__).parent / "bench_results"
STROKE_VERTICES = (500, 8000)
STROKE_MM = 0.4
SEED = 1910


class Night(NamedTuple):
    """One batch: seconds that passed, processor seconds, and each variant's answers."""

    wall_s: float
    cpu_s: float
    said: dict[str, bench_against.Said]


def add_to(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Give the bench its ``night`` command."""
    night = commands.add_parser("night", help="a folder of full designs, with the code of a commit and with this one")
    night.add_argument("--against", metavar="COMMIT", required=True)
    night.add_argument("--count", type=int, default=24)
    night.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    night.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Measure, print and keep a line; an answer that differs is an error, a time is not."""
    os.environ["DRYFIT_THREADS"] = "1"
    with tempfile.TemporaryDirectory() as place, bench_against.tree_of(arguments.against) as old:
        folder = Path(place) / "variants"
        write_variants(folder, arguments.count)
        before = measured(old, folder, Path(place) / "old", arguments.jobs)
        after = measured(bench_against.HERE, folder, Path(place) / "new", arguments.jobs)
        answers_mb = sum(file.stat().st_size for file in (Path(place) / "new answers").iterdir()) / 1e6
    words = line(arguments, before, after, answers_mb)
    RESULTS.mkdir(exist_ok=True)
    (RESULTS / "night.md").write_text(words, encoding="utf8")
    print(words)
    different = [
        name for name, said in before.said.items() if name not in after.said or not said.is_like(after.said[name])
    ]
    if different:
        print(f"The answers differ: {', '.join(different)}.", file=sys.stderr)
    return bool(different)


def write_variants(folder: Path, count: int) -> None:
    """Write snapshots: the wardens in turn, each with a stroke on one of its appliances."""
    from dryfit import save_snapshot
    from dryfit.demo_door import demo_module

    folder.mkdir()
    rng, names = np.random.default_rng(SEED), bench_against.designs()
    plain = {name: demo_module("variant_snapshots").variant_snapshot(name) for name in names}
    for number in range(count):
        name = names[number % len(names)]
        save_snapshot(stroked(plain[name], rng), folder / f"{number:03}-{name}.npz")


def stroked(snapshot: Any, rng: np.random.Generator) -> Any:
    """Return a design with the vertices round one of a piece's pushed out or in."""
    worn = snapshot.with_role("appliance")
    piece = worn[rng.integers(len(worn))]
    middle = piece.vertices_mm[rng.integers(len(piece.vertices_mm))]
    off_mm = np.linalg.norm(piece.vertices_mm - middle, axis=1)
    near = np.argsort(off_mm, kind="stable")[: rng.integers(*STROKE_VERTICES)]
    moved = piece.vertices_mm.copy()
    moved[near] += np.linspace(1.0, 0.0, len(near))[:, None] * rng.normal(size=3) * STROKE_MM
    parts = tuple(replace(part, vertices_mm=moved) if part is piece else part for part in snapshot.parts)
    return replace(snapshot, parts=parts)


def measured(tree: Path, folder: Path, out: Path, jobs: int) -> Night:
    """Run one batch of every check, nothing but reports written, with answers kept in a folder that is empty."""
    answers = out.with_name(f"{out.name} answers")
    surroundings = {**os.environ, "PYTHONPATH": str(tree / "addon"), "DRYFIT_CACHE": str(answers)}
    words = ["batch", str(folder), "--out", str(out), "--jobs", str(jobs), "--no-pictures", "--fail-on", "never"]
    started = time.perf_counter()
    command = [sys.executable, "-c", PARENT, *words]
    done = subprocess.run(command, capture_output=True, text=True, check=True, env=surroundings)
    wall_s = time.perf_counter() - started
    counted = next(row for row in done.stderr.splitlines() if row.startswith("MEASURED")).split()
    reports = sorted(out.glob("*/report.json"))
    return Night(wall_s, float(counted[2]) + float(counted[3]), {file.parent.name: answer(file) for file in reports})


def answer(file: Path) -> bench_against.Said:
    """Return all that a report says but how long it took and by which version."""
    report = json.loads(file.read_text(encoding="utf8"))
    return bench_against.Said.of([check | {"seconds": 0.0} for check in report["checks"]])


def line(arguments: argparse.Namespace, before: Night, after: Night, answers_mb: float) -> str:
    """Return the outcome as a page."""
    count = arguments.count
    rows = [
        f"| {which} | {night.wall_s:.0f} | {night.cpu_s:.0f} | {night.cpu_s / count:.2f} |"
        for which, night in ((arguments.against, before), ("this code", after))
    ]
    return "\n".join(
        [
            "# A night's variants",
            "",
            f"{count} full designs (a warden with a stroke on one piece each), every check, {arguments.jobs} workers. "
            f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}. Processor time "
            f"{before.cpu_s / after.cpu_s:.1f} times less; the answers of all are the same; the folder of answers held "
            f"{answers_mb:.0f} MB at the end.",
            "",
            "| code | seconds passed | processor seconds | each |",
            "|---|---|---|---|",
            *rows,
            "",
        ]
    )
