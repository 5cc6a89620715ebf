"""Build the demonstration, measure the performer's room, check every variant and end with the page to open.

    python3 scripts/demo.py [--out DIR]

Needs Python 3.11 or newer and the package registries; makes its own environment in .venv-demo. Safe to run twice.
Blender's module is to be had for some versions of Python alone: where this one has none, another one on this machine
takes over; where there is no such one either, the designs are built and checked without Blender.
"""

import argparse
import os
import sys
from pathlib import Path

from environment import ROOT, SetUpFailed, environment, pythons, run, say, this_version

DRYFIT = "--editable .[cli]"
MODULES = {"3.11": ["numpy==1.26.4", "bpy==4.2.*"], "3.13": ["bpy==5.2.*"]}
"""Python -> Blender's module for it, and what it leaves unpinned."""
LEFT_OUT = "left out: the .blend files, so nothing here opens in Blender; the same designs are checked as snapshots"
PATIENCE_S = "3600"
"""A design takes two minutes; on a slow or busy machine none may be given up for that."""
TAKEN_OVER = "DRYFIT_DEMO_PYTHON"
"""Set for the Python that takes over, so that it does not look for another one."""


def main() -> int:
    """Run the demonstration and return 0, or 2 with a clear word."""
    parser = argparse.ArgumentParser(description="Build the demonstration and check every variant.")
    parser.add_argument("--out", type=Path, default=ROOT / "demo-designs", help="folder for designs and reports")
    out = parser.parse_args().out.resolve()
    other = None if this_version() in MODULES or TAKEN_OVER in os.environ else other_python()
    if other is not None:
        say(f"Python {this_version()} has no module of Blender; {other} takes over")
        return run([other, __file__, "--out", str(out)], env={**os.environ, TAKEN_OVER: other})
    try:
        python, with_blender = demo_environment()
    except SetUpFailed as problem:
        print(f"demo: {problem}", file=sys.stderr)
        return 2
    return build_and_check(python, out, with_blender)


def other_python() -> str | None:
    """Return an interpreter on this machine that Blender's module is to be had for, or None."""
    return next((python for version in MODULES for python in pythons(version)), None)


def demo_environment() -> tuple[str, bool]:
    """Return the environment's Python, and whether Blender's module is in it.

    Raises
    ------
    SetUpFailed
        When it cannot be made without the module either.
    """
    module = MODULES.get(this_version())
    if module is None:
        versions = " or ".join(MODULES)
        say(f"Python {this_version()} has no module of Blender, and there is no Python {versions} here; {LEFT_OUT}")
        return str(environment("demo", [DRYFIT])), False
    try:
        return str(environment("demo", [*module, DRYFIT])), True
    except SetUpFailed:
        python = str(environment("demo", [DRYFIT]))  # says why, where it is not the module
        say(f"Blender's module could not be installed; {LEFT_OUT}")
        return python, False


def build_and_check(python: str, out: Path, with_blender: bool) -> int:
    """Build the six designs, check them and print where the page is; return 0, or 2 with a clear word."""
    say(f"building six designs of The Salt Orchard in {out}")
    if run([python, "-m", "dryfit", "demo", str(out), *([] if with_blender else ["--snapshots"])]):
        print("demo: the designs could not be built; the lines above say why.", file=sys.stderr)
        return 2
    say("measuring the room of the bare performer")
    head = out / ("performer.blend" if with_blender else "01-warden-plain.npz")
    if run([python, "-m", "dryfit", "room", str(head), "--out", str(out / "reports" / "room")]):
        print("demo: the performer's room could not be measured; the lines above say why.", file=sys.stderr)
        return 2
    say("checking every variant")
    checking = [python, "-m", "dryfit", "batch", str(out), "--out", str(out / "reports")]
    if run([*checking, "--fail-on", "never", "--limit-s", PATIENCE_S]):
        print("demo: the designs could not be checked; the lines above say why.", file=sys.stderr)
        return 2
    say("open this page in a browser:")
    print(out / "reports" / "index.html")
    return 0


if __name__ == "__main__":
    sys.exit(main())
