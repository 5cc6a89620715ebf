"""A whole check on a design of two hundred thousand triangles, the library's start-up, and old code against new."""

from __future__ import annotations

import argparse
import subprocess
import sys
import time

import bench_against

MAIN_JOB = ("additive", "edge", "closure", "coverage")
TARGET_S, TARGET_MB, TARGET_START_S = 10.0, 1536.0, 0.3


def add_to(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Give the bench its ``checks`` command."""
    checks = commands.add_parser("checks", help="check a 200k-triangle design on a 200k-triangle base")
    checks.add_argument("--every", action="store_true", help="all checks, not the four of the main job")
    checks.add_argument("--against", metavar="COMMIT", help="every warden, with the code of a commit and with this one")
    checks.add_argument("--rounds", type=int, default=bench_against.ROUNDS, help="with --against: of which the median")
    checks.add_argument("--designs", nargs="+", default=[], help="with --against: these wardens alone")
    checks.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print seconds and memory beside the targets; nothing is asserted."""
    if arguments.against:
        return bench_against.run(arguments.against, arguments.rounds, tuple(arguments.designs))
    print(f"start-up of the library: {start_up_s():.2f} s (target {TARGET_START_S} s)")
    command = [sys.executable, __file__, *(["--every"] if arguments.every else [])]
    return subprocess.run(command, check=False).returncode


def start_up_s() -> float:
    """Return the seconds that ``import dryfit`` takes over a bare Python with numpy, best of five."""
    return min(seconds("import numpy, dryfit") - seconds("import numpy") for _ in range(5))


def seconds(code: str) -> float:
    """Return how long a fresh Python takes to run some code."""
    started = time.perf_counter()
    subprocess.run([sys.executable, "-c", code], check=True)
    return time.perf_counter() - started


def measure(only: tuple[str, ...]) -> None:
    """Check the full-face warden, both meshes cut to about 200k triangles, and print what it took."""
    import resource

    import dryfit
    from dryfit.demo_door import demo_module

    snapshot = demo_module("variant_snapshots").variant_snapshot("06-warden-bronze")
    worn = sum(len(part.faces) for part in snapshot.parts if part.role == "appliance")
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"base {len(snapshot.base.faces):,} triangles, appliance {worn:,}")
    started, cpu = time.perf_counter(), time.process_time()
    report = dryfit.check(snapshot, only=only or None)
    wall, used = time.perf_counter() - started, time.process_time() - cpu
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    for check in report.checks:
        print(f"  {check.id:12} {check.seconds:6.2f} s  {check.status}")
    print(f"check: {wall:.1f} s, {used:.1f} s of processor (target {TARGET_S:g} s)")
    print(f"peak memory {peak:.0f} MB, {before:.0f} MB of it before the check (target {TARGET_MB:g} MB)")


if __name__ == "__main__":
    measure(() if "--every" in sys.argv else MAIN_JOB)
