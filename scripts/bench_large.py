"""All checks of a dense design on a dense scan: seconds, memory, and what each check takes."""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

RESULTS = Path(__file__).resolve().parent / "bench_results"
DESIGN = "01-warden-plain"
BASE, WORN = 1_000_000, 2_000_000
TARGET_S, TARGET_MB = 60.0, 4000.0


def add_to(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Give the bench its ``large`` command."""
    large = commands.add_parser("large", help="every check of two million triangles on a scan of one million")
    large.add_argument("--base", type=int, default=BASE, help="triangles of the base")
    large.add_argument("--worn", type=int, default=WORN, help="triangles of all else")
    large.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Measure in a Python of its own, and write large.md."""
    command = [sys.executable, __file__, str(arguments.base), str(arguments.worn)]
    found = json.loads(subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True).stdout)
    RESULTS.mkdir(exist_ok=True)
    (RESULTS / "large.md").write_text(page(found), encoding="utf8")
    print(page(found))
    return 0


def measure(base: int, worn: int) -> dict[str, Any]:
    """Check the design at that size; return its triangles, seconds, and megabytes before and at the peak."""
    import resource

    import bench_growth
    import dryfit
    from dryfit.demo_door import demo_module

    plain = replace(demo_module("variant_snapshots").variant_snapshot(DESIGN), lock=None)
    snapshot = bench_growth.grown_to(worn, plain, (), base)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    started, used = time.perf_counter(), time.process_time()
    report = dryfit.check(snapshot)
    return {
        "base": len(snapshot.base.faces),
        "worn": sum(len(part.faces) for part in snapshot.parts if part.role != "base"),
        "wall_s": time.perf_counter() - started,
        "processor_s": time.process_time() - used,
        "before_mb": before,
        "peak_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
        "checks": {check.id: [check.seconds, str(check.status)] for check in report.checks},
    }


def page(found: dict[str, Any]) -> str:
    """Return the outcome as Markdown."""
    rows = [f"| {name} | {seconds:.1f} | {status} |" for name, (seconds, status) in found["checks"].items()]
    threads = os.environ.get("DRYFIT_THREADS") or f"all {os.cpu_count()}"
    return "\n".join(
        [
            "# A dense design on a dense scan",
            "",
            f"{DESIGN} with its longest edges halved to {found['worn']:,} triangles, on a base of {found['base']:,}: "
            f"every check, once, cores used: {threads}. {found['wall_s']:.0f} s passed (target {TARGET_S:.0f}), "
            f"{found['processor_s']:.0f} s of processor time; {found['peak_mb']:.0f} MB at the peak (target "
            f"{TARGET_MB:.0f}), {found['before_mb']:.0f} MB of them before the checks. Seconds of checks that ran side "
            "by side add up to more than what passed.",
            "",
            "Made by `python scripts/bench.py large`.",
            "",
            "| check | seconds | answer |",
            "|---|---|---|",
            *rows,
            "",
        ]
    )


if __name__ == "__main__":
    print(json.dumps(measure(int(sys.argv[1]), int(sys.argv[2]))))
