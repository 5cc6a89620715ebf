"""Build the guide's pages, with Sphinx, from its chapters and from what the code states of itself.

    python3 scripts/build_guide.py [--out DIR]

Without ``--out`` they go where ``dryfit guide`` opens them in a checkout. Where Sphinx is not installed, it is put into
an environment of its own first, from the package registry. The pages need no network and no server.
"""

import argparse
import importlib.util
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from environment import ROOT, SetUpFailed, environment, this_version

CHAPTERS = ROOT / "addon" / "dryfit" / "guide" / "chapters"
PAGES = ROOT / "addon" / "dryfit" / "guide" / "pages"
TOOLS = ["sphinx>=8.1", "myst-parser>=4", "numpy>=1.26"]
MODULES = ("sphinx", "myst_parser", "numpy")
LEFT_OUT = (".buildinfo", "objects.inv", "_sources")
"""What Sphinx leaves beside the pages for other tools."""
MOST_SECONDS = 600


class GuideFailed(Exception):
    """The pages could not be built; the message holds what Sphinx says."""


def build(out: Path = PAGES) -> Path:
    """Build the pages and return their folder. It appears whole or not at all; any warning fails.

    Raises
    ------
    GuideFailed
        With Sphinx's own words.
    SetUpFailed
        When Sphinx is not here and cannot be had.
    """
    out.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=out.parent) as scratch:
        made = Path(scratch) / "pages"
        _run_sphinx(made, Path(scratch) / "trees")
        for name in LEFT_OUT:
            shutil.rmtree(made / name) if (made / name).is_dir() else (made / name).unlink(missing_ok=True)
        shutil.rmtree(out, ignore_errors=True)
        made.replace(out)
    return out


def _run_sphinx(pages: Path, trees: Path) -> None:
    command = [
        _python(), "-m", "sphinx", "-q", "-E", "-W", "--keep-going", "-b", "html",
        "-c", str(ROOT / "scripts" / "guide"), "-d", str(trees), str(CHAPTERS), str(pages),
    ]  # fmt: skip
    done = subprocess.run(command, capture_output=True, text=True, timeout=MOST_SECONDS, check=False)
    if done.returncode:
        raise GuideFailed(f"the guide could not be built:\n{done.stdout}{done.stderr}".strip())


def _python() -> str:
    """Return a Python that has the tools: this one, else that of an environment made for it."""
    if all(importlib.util.find_spec(name) for name in MODULES):
        return sys.executable
    return str(environment(f"guide-{this_version()}", TOOLS))  # one for each Python, as Blenders differ in it


def main() -> int:
    """Build the pages and return the exit code."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--out", type=Path, default=PAGES, metavar="DIR")
    try:
        print(build(parser.parse_args().out.resolve()) / "index.html")
    except (GuideFailed, SetUpFailed, OSError, subprocess.TimeoutExpired) as error:
        print(error, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
