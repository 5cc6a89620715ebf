"""The room of the real head on growing bases: seconds of all constraints with five motions, and how they grow."""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

RESULTS = Path(__file__).resolve().parent / "bench_results"
TARGET_S = 30.0
TARGET_TRIANGLES = 140_000
LEVELS = (1, 2, 3)
"""How often the stored head is subdivided: 34,000, 138,000 and 551,000 triangles."""
BARE = ("base", "eye_left", "eye_right", "upper_teeth", "lower_teeth")


def add_to(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Give the bench its ``room`` command."""
    room = commands.add_parser("room", help="the room of the real head with five motions, on growing bases")
    room.add_argument("--levels", type=int, nargs="+", default=list(LEVELS), help="subdivisions of the head (1 2 3)")
    room.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Measure every size in a Python of its own, and write room.json and room.md."""
    rows = []
    for level in arguments.levels:
        command = [sys.executable, __file__, str(level)]
        rows.append(json.loads(subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True).stdout))
        print(rows[-1], file=sys.stderr, flush=True)
    RESULTS.mkdir(exist_ok=True)
    (RESULTS / "room.json").write_text(json.dumps(rows, indent=1) + "\n")
    (RESULTS / "room.md").write_text("\n".join(table(rows)) + "\n")
    print("\n".join(table(rows)))
    return 0


def measure(level: int) -> dict[str, Any]:
    """Measure one head's room; return its triangles, seconds in all and of each step, and megabytes at the peak."""
    import resource

    from dryfit.demo_door import demo_module
    from dryfit.model.brief import Brief
    from dryfit.performer.fitting import Fitting
    from dryfit.rooms.room import measure_room

    demo_module("performer").LEVELS = level
    plain = demo_module("variant_snapshots").variant_snapshot("01-warden-plain")
    bare = replace(plain, parts=tuple(part for part in plain.parts if part.role in BARE))
    job, label, spent = measure_room(Fitting(bare, Brief())), "start", {}
    started, used = time.perf_counter(), time.process_time()
    since = started
    while True:
        try:
            step = next(job)
        except StopIteration:
            break
        now = time.perf_counter()
        spent[label] = spent.get(label, 0.0) + now - since
        since, label = now, step.label.split(" for the ")[0]
    return {
        "triangles": len(bare.base.faces),
        "wall_s": round(time.perf_counter() - started, 2),
        "processor_s": round(time.process_time() - used, 2),
        "peak_mb": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024),
        "steps_s": {name: round(seconds, 2) for name, seconds in spent.items() if seconds > 0.05},
    }


def table(rows: list[dict[str, Any]]) -> list[str]:
    """Return the rows as lines of Markdown."""
    lines = [
        f"Target: {TARGET_TRIANGLES:,} triangles with five motions under {TARGET_S:g} s on two cores.",
        "",
        "| triangles of the base | seconds | processor seconds | processor seconds a million triangles | peak MB |",
        "|---|---|---|---|---|",
    ]
    for row in rows:
        per_million = row["processor_s"] / row["triangles"] * 1e6
        figures = (f"{row['triangles']:,}", row["wall_s"], row["processor_s"], f"{per_million:.0f} s", row["peak_mb"])
        lines.append(f"| {' | '.join(map(str, figures))} |")
    return lines


if __name__ == "__main__":
    print(json.dumps(measure(int(sys.argv[1]))))
