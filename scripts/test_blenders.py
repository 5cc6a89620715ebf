"""Test the Blender border in every Blender there is a Python for.

    python3 scripts/test_blenders.py [4.2 4.5 5.0 5.2 programs] [-- pytest arguments]

A version that is named gets every test. When none is named, the oldest and the newest get every test, those between
them all but the slow ones, and the programs every test. Two versions are tested at a time, and what each says is
printed whole when it ends.

Makes one environment for each version of the module (about a gigabyte each); ``environments`` alone makes them and
tests nothing. A version whose Python is missing is skipped with a word, also when that leaves none. ``programs`` are
the real Blenders on this machine; see real_binaries.py.
"""

import os
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor

import real_binaries
from environment import ROOT, SetUpFailed, environment, pythons, run, say, surroundings

NO_SUCH_PYTHON = -1
PYTHON_FOR = {"4.2": "3.11", "4.5": "3.11", "5.0": "3.11", "5.2": "3.13"}
ENDS = ("4.2", "5.2")
"""What both of them do alike, those between them do too; their quick tests say so."""
AT_ONCE = min(2, os.cpu_count() or 1)
"""Each takes one core and up to 1.5 GB."""
PROGRAMS = "programs"
ENVIRONMENTS = "environments"
NUMPY_FOR = {"4.2": "numpy==1.26.4"}  # that module leaves numpy unpinned
LIBRARIES = "libgl1 libx11-6 libxext6 libxrender1 libxi6 libxfixes3 libxxf86vm1 libxkbcommon0 libsm6 libice6 libgomp1"
BESIDE = ["pytest>=8", "openexr>=3.3", "jinja2>=3.1", "jsonschema>=4.21", "pebble>=5", "pillow>=10"]
BESIDE += ["trimesh>=4.4"]
BATCHES = ["tests/batch/test_formats.py", "tests/batch/test_bad_files.py", "tests/batch/test_linked_files.py"]
"""Batches of the kinds of file that Blender reads."""
HERE = "--in-this-python"
PYTEST = "import os, sys, pytest; code = pytest.main(sys.argv[1:]); sys.stdout.flush(); os._exit(code)"
"""Leaves with pytest's own exit code: the 4.2 module may crash while Python takes itself down after the tests."""


def main(arguments: list[str]) -> int:
    """Test each version in a process of its own Python; return 0 when none fails."""
    if arguments[:1] == [HERE]:
        return test_here(arguments[1], arguments[2:])
    wanted, pytest_arguments = split(arguments)
    if wanted == [ENVIRONMENTS]:
        return max(at_once({version: [ENVIRONMENTS] for version in PYTHON_FOR}).values())
    answers = at_once(of_modules(wanted, pytest_arguments))
    answers.update(real_binaries.test_programs(pytest_arguments) if not wanted or PROGRAMS in wanted else {})
    failed = [version for version, code in answers.items() if code not in (0, NO_SUCH_PYTHON)]
    tested = [version for version, code in answers.items() if code == 0]
    if not tested and not failed:
        needed = " or ".join(sorted({*PYTHON_FOR.values()}))
        say(f"left out: every test inside Blender, whose module needs Python {needed}; there is none here")
        return 1 if wanted else 0
    say(f"Blender {', '.join(tested) or 'none'} clean" + (f"; FAILED: {', '.join(failed)}" if failed else ""))
    return 1 if failed else 0


def split(arguments: list[str]) -> tuple[list[str], list[str]]:
    """Return the versions asked for (none stands for all) and pytest's arguments."""
    place = arguments.index("--") if "--" in arguments else len(arguments)
    return arguments[:place], arguments[place + 1 :]


def of_modules(wanted: list[str], pytest_arguments: list[str]) -> dict[str, list[str]]:
    """Return pytest's arguments for each version of the module; the longest runs come first."""
    if wanted:
        return {version: pytest_arguments for version in wanted if version != PROGRAMS}
    between = [version for version in PYTHON_FOR if version not in ENDS]
    return dict.fromkeys(ENDS, pytest_arguments) | {
        version: ["-m", "not slow", *pytest_arguments] for version in between
    }


def at_once(arguments_for: dict[str, list[str]]) -> dict[str, int]:
    """Return each version's exit code; a few run side by side, and each one's words are printed whole at its end."""
    say(f"Blender {', '.join(arguments_for) or 'none'}: {AT_ONCE} at a time")
    with ThreadPoolExecutor(AT_ONCE) as pool:
        return dict(zip(arguments_for, pool.map(in_its_python, *zip(*arguments_for.items(), strict=True)), strict=True))


def in_its_python(version: str, arguments: list[str]) -> int:
    """Return the exit code for one Blender, or NO_SUCH_PYTHON."""
    python = next(pythons(PYTHON_FOR[version]), None)
    if python is None:
        say(f"Blender {version} skipped: it needs Python {PYTHON_FOR[version]}, which is not on this machine")
        return NO_SUCH_PYTHON
    with tempfile.TemporaryFile("w+", encoding="utf8", errors="replace") as said:
        code = run([python, __file__, HERE, version, *arguments], stdout=said, stderr=subprocess.STDOUT)
        said.seek(0)
        print(said.read(), end="", flush=True)
    return code


def test_here(version: str, arguments: list[str]) -> int:
    """Make the environment with this Python and run the border's tests in it."""
    numpy = NUMPY_FOR.get(version, "numpy>=1.26")
    try:
        python = str(environment(f"blender-{version}", [f"bpy=={version}.* {numpy}", *BESIDE]))
    except SetUpFailed as problem:
        print(f"test: {problem}", file=sys.stderr)
        return 2
    if arguments == [ENVIRONMENTS]:
        return 0
    if run([python, "-c", "import bpy"], stdout=subprocess.DEVNULL):
        print(f"test: Blender {version} does not start here. On Debian: apt-get install {LIBRARIES}", file=sys.stderr)
        return 2
    say(f"tests in Blender {version}")
    options = surroundings(PYTHONPATH=str(ROOT / "addon"))
    return run([python, "-c", PYTEST, "tests/scene", "tests/sitting", "tests/ui", *BATCHES, *arguments], env=options)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
