"""Run the Blender border's tests inside real Blender programs, through pytest-blender.

    python3 scripts/real_binaries.py [pytest arguments]

Taken are the programs that $DRYFIT_BLENDER names (several are separated as in PATH), else ``blender`` on the path, and
those in the Debian systems that blender_window.py has set up. Where there is none, that is said and nothing fails.
"""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import blender_window as window
from environment import ROOT, SetUpFailed, environment, run, say, surroundings

TESTS = ("tests/scene", "tests/sitting", "tests/ui")
SHARED = ("addon/dryfit", "tests", "scripts", "demo.blend-generator", "pyproject.toml")
INSIDE = ["-o", "pythonpath=addon", "-p", "no:cacheprovider"]
NO_PROGRAM = "no Blender program here: put one on the path, name it in $DRYFIT_BLENDER, or run blender_window.py setup"


@dataclass(frozen=True)
class Program:
    """One Blender, and how its tests are started.

    Attributes
    ----------
    name
        What to call it.
    command
        Starts pytest with pytest-blender for it; pytest's arguments and then Blender's follow.
    blender_options
        Options for Blender itself.
    settings
        Variables of the environment besides those of this process.
    """

    name: str
    command: tuple[str, ...]
    blender_options: tuple[str, ...]
    settings: dict[str, str]


def main(arguments: list[str]) -> int:
    """Test each program; return 0 when none fails, also when there is none."""
    return max(test_programs(arguments).values(), default=0)


def test_programs(arguments: list[str]) -> dict[str, int]:
    """Return pytest's exit code for each program there is."""
    try:
        found = list(programs())
    except SetUpFailed as problem:
        print(f"test: {problem}", file=sys.stderr)
        return {"programs": 2}
    if not found:
        say(NO_PROGRAM)
    return {each.name: _test(each, arguments) for each in found}


def _test(program: Program, arguments: list[str]) -> int:
    say(f"tests inside {program.name}")
    options = ["--", *program.blender_options] if program.blender_options else []
    command = [*program.command, *INSIDE, *TESTS, *arguments, *options]
    return run(command, env=surroundings(**program.settings))


def programs() -> Iterator[Program]:
    """Find the Blenders there are.

    Raises
    ------
    SetUpFailed
        When pytest-blender cannot be installed for one.
    """
    named = os.environ.get("DRYFIT_BLENDER", "").split(os.pathsep)
    for path in [each for each in named if each] or [shutil.which("blender")]:
        if path:
            yield on_this_machine(path)
    for place in map(window.place_for, window.SUITES):
        if place.ready:
            yield in_a_place(place)


def on_this_machine(path: str) -> Program:
    """Return how to test a program that runs here; its own Python gets pytest from a folder of ours.

    Raises
    ------
    SetUpFailed
    """
    python = environment("binary", ["pytest>=8 pytest-blender"])
    inside = python.parent.parent / "inside"
    _install(python, inside, "pytest>=8")
    command = (str(python), "-m", "pytest", "--blender-executable", path)
    return Program(
        _version(path), command, ("--factory-startup", "--python-use-system-env"), {"PYTHONPATH": str(inside)}
    )


def in_a_place(place: window.Place) -> Program:
    """Return how to test the program of a Debian system, which has its own pytest; our files are copied there.

    Raises
    ------
    SetUpFailed
    """
    for each in SHARED:
        window.share(place, ROOT / each, f"checkout/{each}")
    _install(
        environment("binary", ["pytest>=8 pytest-blender"]), place.shared / "plugin", "pytest-blender", "--no-deps"
    )
    clean = ("env", "-i", "--chdir=/srv/checkout", "PATH=/usr/bin:/bin", "HOME=/srv/home", "LANG=C.UTF-8")
    pytest = ("PYTHONPATH=/srv/plugin", "python3", "-m", "pytest", "--blender-executable", "/usr/bin/blender")
    return Program(f"Debian {place.suite}'s Blender", ("chroot", str(place.folder), *clean, *pytest), (), {})


def _install(python: Path, folder: Path, *requirement: str) -> None:
    if folder.exists():
        return
    command = [str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--target", str(folder)]
    done = subprocess.run([*command, *requirement], capture_output=True, text=True, check=False)
    if done.returncode:
        raise SetUpFailed(f"Installing {requirement[0]} into {folder} failed:\n{done.stderr[-2000:]}")


def _version(path: str) -> str:
    done = subprocess.run([path, "--version"], capture_output=True, text=True, check=False)
    return f"{(done.stdout.splitlines() or ['Blender'])[0]} ({path})"


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
