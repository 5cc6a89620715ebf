"""Build the demonstration, measure the performer's room, check every variant and end with the page to open.

    python3 scripts/demo.py [--out DIR]

Needs Python 3.11 and the package registries; makes its own environment in .venv-demo. Safe to run twice.
"""

import argparse
import sys
from pathlib import Path

from environment import ROOT, SetUpFailed, environment, run, say

REQUIREMENTS = ["numpy==1.26.4", "bpy==4.2.*", "--editable .[cli]"]


def main() -> int:
    """Run the demonstration and return 0, or 2 with a clear word."""
    parser = argparse.ArgumentParser(description="Build the demonstration and check every variant.")
    parser.add_argument("--out", type=Path, default=ROOT / "demo-designs", help="folder for designs and reports")
    out = parser.parse_args().out.resolve()
    try:
        python = str(environment("demo", REQUIREMENTS))
    except SetUpFailed as problem:
        print(f"demo: {problem}", file=sys.stderr)
        return 2
    say(f"building six designs of The Salt Orchard in {out}")
    if run([python, "-m", "dryfit", "demo", str(out)]):
        print("demo: the designs could not be built; the lines above say why.", file=sys.stderr)
        return 2
    say("measuring the room of the bare performer")
    if run([python, "-m", "dryfit", "room", str(out / "performer.blend"), "--out", str(out / "reports" / "room")]):
        print("demo: the performer's room could not be measured; the lines above say why.", file=sys.stderr)
        return 2
    say("checking every variant")
    if run([python, "-m", "dryfit", "batch", str(out), "--out", str(out / "reports"), "--fail-on", "never"]):
        print("demo: the designs could not be checked; the lines above say why.", file=sys.stderr)
        return 2
    say("open this page in a browser:")
    print(out / "reports" / "index.html")
    return 0


if __name__ == "__main__":
    sys.exit(main())
