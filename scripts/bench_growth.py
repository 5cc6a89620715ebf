"""Closure, coverage and interference on one design of growing size: seconds, memory, and how they grow."""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from dryfit.model.arrays import FloatArray, IntArray
    from dryfit.model.snapshot import Part, Snapshot

RESULTS = Path(__file__).resolve().parent / "bench_results"
CHECKS = ("closure", "coverage", "interference")
TARGET_S = 20.0
DESIGN = "02-warden-tusks"
"""The one with something in the way: it costs more than one that shuts."""
LEFT_OUT = ("BrowBark",)
"""Without it the design is small enough to start from; what moves at the mouth stays."""
SIZES = (60_000, 125_000, 250_000, 500_000)
"""Triangles of all that is worn and of the teeth."""


def add_to(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Give the bench its ``growth`` command."""
    growth = commands.add_parser("growth", help="closure, coverage and interference on up to 500k triangles")
    growth.add_argument("--snapshot", default="", help="a saved snapshot of the tusked warden; else it is built")
    growth.add_argument("--rounds", type=int, default=1, help="runs of each size; the quickest counts")
    growth.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Measure every size in a Python of its own, and write growth.md, growth.json and growth.png."""
    rows = [best_of(size, arguments.snapshot, arguments.rounds) for size in SIZES]
    RESULTS.mkdir(exist_ok=True)
    (RESULTS / "growth.json").write_text(json.dumps(rows, indent=1) + "\n")
    (RESULTS / "growth.md").write_text("\n".join(table(rows)) + "\n")
    plot(rows, RESULTS / "growth.png")
    print("\n".join(table(rows)))
    return 0


def best_of(size: int, saved: str, rounds: int) -> dict[str, Any]:
    """Return the run of one size that took the least processor time."""
    command = [sys.executable, __file__, str(size), saved]
    answers = [subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True).stdout for _ in range(rounds)]
    found: dict[str, Any] = min((json.loads(answer) for answer in answers), key=lambda row: row["processor_s"])
    print(found, file=sys.stderr, flush=True)
    return found


def measure(size: int, saved: str) -> dict[str, Any]:
    """Check the design at one size; return its triangles, seconds, and megabytes at the peak."""
    import resource

    import dryfit
    from dryfit.checks.registry import CHECKS as KNOWN
    from dryfit.demo_door import demo_module
    from dryfit.model.brief import Brief
    from dryfit.model.progress import drain
    from dryfit.performer.fitting import Fitting

    plain = dryfit.load_snapshot(saved) if saved else demo_module("variant_snapshots").variant_snapshot(DESIGN)
    snapshot = grown_to(size, plain)
    triangles = sum(len(part.faces) for part in snapshot.parts if part.role != "base")
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    started, used = time.perf_counter(), time.process_time()
    fitting, brief = Fitting(snapshot, Brief()), Brief()
    spent = {}
    for check in (check for check in KNOWN if check.id in CHECKS):
        since = time.process_time()
        drain(check.measure(fitting, brief))
        spent[check.id] = time.process_time() - since
    return {
        "triangles": triangles,
        "base": len(snapshot.base.faces),
        **spent,
        "wall_s": time.perf_counter() - started,
        "processor_s": time.process_time() - used,
        "peak_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
        "before_mb": before,
        "load": os.getloadavg()[0],
    }


def grown_to(size: int, snapshot: Snapshot, left_out: tuple[str, ...] = LEFT_OUT, base: int = 0) -> Snapshot:
    """Return the design with its longest edges halved until it has about ``size`` triangles, its base ``base``.

    A base that has as many stays as it is.
    """
    kept = [part for part in snapshot.parts if part.name not in left_out]
    worn = [part for part in kept if part.role != "base"]
    share = size / sum(len(part.faces) for part in worn)
    frames: dict[str, dict[str, FloatArray]] = {name: dict(m.frames_mm) for name, m in snapshot.motions.items()}
    parts = []
    for part in kept:
        fine, ends = refined(part, base if part.role == "base" else round(share * len(part.faces)))
        parts.append(fine)
        for moved in frames.values():
            for cut in ends:
                if part.name in moved:
                    moved[part.name] = np.stack([with_middles(frame, cut) for frame in moved[part.name]])
    motions = {name: replace(motion, frames_mm=frames[name]) for name, motion in snapshot.motions.items()}
    return replace(snapshot, parts=tuple(parts), motions=motions)


def refined(part: Part, size: int) -> tuple[Part, list[IntArray]]:
    """Return a part with its longest edges halved until it has ``size`` triangles, and the edges ``(e, 2)`` cut."""
    vertices, faces, areas, cuts = part.vertices_mm, part.faces, dict(part.areas), []
    while len(faces) < size:
        faces, ends = halved(vertices, faces, size)
        vertices = with_middles(vertices, ends)
        areas = {name: with_middles(weights, ends) for name, weights in areas.items()}
        cuts.append(ends)
    return replace(part, vertices_mm=vertices, faces=faces, areas=areas), cuts


def halved(vertices_mm: FloatArray, faces: IntArray, size: int) -> tuple[IntArray, IntArray]:
    """Halve as many of the longest edges as give ``size`` triangles, all at most.

    A triangle with one, two or three halved edges becomes two, three or four, so that neighbours still meet.
    """
    sides = np.sort(faces[:, [[0, 1], [1, 2], [2, 0]]], axis=2)
    ends, edge = np.unique(sides.reshape(-1, 2), axis=0, return_inverse=True)
    edge = edge.reshape(-1, 3)
    length = np.linalg.norm(vertices_mm[ends[:, 0]] - vertices_mm[ends[:, 1]], axis=1)
    more = np.cumsum(np.bincount(edge.ravel())[order := np.argsort(-length, kind="stable")])
    chosen = order[: int(np.searchsorted(more, size - len(faces))) + 1]
    middle = np.full(len(ends), -1)
    middle[chosen] = len(vertices_mm) + np.arange(len(chosen))
    return np.concatenate(list(cut_faces(faces, middle[edge]))), ends[chosen]


def cut_faces(faces: IntArray, middle: IntArray) -> list[IntArray]:
    """Cut triangles at the middles ``(m, 3)`` of their sides, -1 where a side stays whole."""
    count = (middle >= 0).sum(axis=1)
    pieces = [faces[count == 0]]
    for cuts in (1, 2, 3):
        rows = np.flatnonzero(count == cuts)
        first = (middle[rows] >= 0).argmax(axis=1) if cuts == 1 else ((middle[rows] < 0).argmax(axis=1) + 1) % 3
        turn = (first[:, None] + np.arange(3)) % 3
        (a, b, c), (ab, bc, ca) = (np.take_along_axis(of[rows], turn, axis=1).T for of in (faces, middle))
        pieces += {
            1: [(a, ab, c), (ab, b, c)],
            2: [(ab, b, bc), (a, ab, bc), (a, bc, c)],
            3: [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)],
        }[cuts]  # fmt: skip
    return [piece if piece is pieces[0] else np.stack(piece, axis=1) for piece in pieces]


def with_middles(values: FloatArray, ends: IntArray) -> FloatArray:
    """Return values on vertices, with those on the middles of some edges added."""
    return np.concatenate([values, values[ends].mean(axis=1)])


def table(rows: list[dict[str, Any]]) -> list[str]:
    """Return the results as Markdown, with how time grows with triangles."""
    first, last = rows[0], rows[-1]
    lines = [
        "# Closing a mouth on designs of growing size",
        "",
        f"The tusked warden without {' and '.join(LEFT_OUT)}, its longest edges halved again and again, on a base of "
        f"{first['base']:,} triangles: closure, coverage and interference in one run, indexing included. Target: "
        f"{TARGET_S:.0f} s on two cores at {SIZES[-1]:,} triangles, and growth no more than linear. All but "
        "'elapsed' is processor time of all cores; load is the machine's own at the end of a run, and where it is far "
        "above two the elapsed time tells little.",
        "",
        "Made by `python scripts/bench.py growth`.",
        "",
        "| triangles | closure | coverage | interference | elapsed | processor | peak memory | load |",
        "|---" * 8 + "|",
    ]
    for row in rows:
        seconds = " | ".join(f"{row[check]:.1f} s" for check in CHECKS)
        lines.append(
            f"| {row['triangles']:,} | {seconds} | {row['wall_s']:.1f} s | {row['processor_s']:.1f} s | "
            f"{row['peak_mb']:.0f} MB | {row['load']:.1f} |"
        )
    times, longer = last["triangles"] / first["triangles"], last["processor_s"] / first["processor_s"]
    lines += ["", f"From the smallest to the largest: {times:.1f} times the triangles, {longer:.1f} times the work."]
    return lines


def plot(rows: list[dict[str, Any]], path: Path) -> None:
    """Draw seconds and memory over triangles, with a straight line through zero and the smallest size."""
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plt

    triangles = np.array([row["triangles"] for row in rows]) / 1e3
    figure, (seconds, memory) = plt.subplots(1, 2, figsize=(10, 4.2))
    named = {"processor_s": "all three", **{check: check for check in CHECKS}}
    for name, words in named.items():
        thin = {} if name.endswith("_s") else {"linewidth": 0.9, "alpha": 0.7}
        seconds.plot(triangles, [row[name] for row in rows], marker="o", label=words, **thin)
    seconds.plot(
        [0, triangles[-1]],
        [0, rows[0]["processor_s"] / triangles[0] * triangles[-1]],
        "--",
        color="grey",
        label="linear growth",
    )
    seconds.axhline(TARGET_S, color="black", linewidth=0.8)
    seconds.set(
        xlabel="thousand triangles", ylabel="seconds of processor time", xlim=(0, None), ylim=(0, 1.5 * TARGET_S)
    )
    seconds.legend(fontsize=8)
    memory.plot(triangles, [row["peak_mb"] for row in rows], marker="o", label="whole process")
    memory.plot(triangles, [row["before_mb"] for row in rows], marker="o", label="before the checks")
    memory.set(xlabel="thousand triangles", ylabel="peak memory, MB", xlim=(0, None), ylim=(0, None))
    memory.legend(fontsize=8)
    figure.tight_layout()
    figure.savefig(path, dpi=130)


if __name__ == "__main__":
    print(json.dumps(measure(int(sys.argv[1]), sys.argv[2])))
