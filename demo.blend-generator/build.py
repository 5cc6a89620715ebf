"""Build the demonstration from a shell.

    python demo.blend-generator/build.py OUT_DIR [--only NAME]

Needs Python 3.11 with Blender's module: pip install 'bpy==4.2.*' numpy==1.26.4. Safe to run twice.
"""

import argparse
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent


def main() -> int:
    """Run the build and return 0, or 2 with a clear word."""
    parser = argparse.ArgumentParser(description="Build the six demonstration designs of The Salt Orchard.")
    parser.add_argument("out_dir", type=Path, help="folder for the .blend files; it is made when missing")
    parser.add_argument("--only", metavar="NAME", help="build one design alone, for instance 03-warden-hollow-cheek")
    chosen = parser.parse_args()
    in_checkout = HERE.parent / "addon"
    sys.path.insert(0, str(in_checkout if in_checkout.is_dir() else HERE.parents[1]))
    from dryfit.demo_door import build_demo
    from dryfit.model.errors import DryfitError

    try:
        for step in build_demo(chosen.out_dir, chosen.only):
            print(f"[{step.done:.0f}/{step.total:.0f}] {step.label}", file=sys.stderr, flush=True)
    except DryfitError as problem:
        print(f"build: {problem}", file=sys.stderr)
        return 2
    print(chosen.out_dir)
    return 0


if __name__ == "__main__":
    sys.exit(main())
