"""Run every test.

    python3 scripts/test.py [pytest arguments]

Needs Python 3.11 and the package registries; makes its own environment in .venv-test, and one for each
Blender it can test. Safe to run twice.
"""

import subprocess
import sys

from environment import ONE_CORE_EACH, ROOT, SetUpFailed, environment, run, say, surroundings

REQUIREMENTS = ["--editable .[test]"]
FORMATTED = ["addon", "tests", "scripts", "demo.blend-generator"]


BESIDE = ("tests", "tests inside Blender")
"""Steps that keep both cores busy by themselves."""


def main() -> int:
    """Run linters, types, tests, and the Blender border in every Blender; return 0 when all of it is clean."""
    if sys.argv[1:]:
        python = _python()
        return run([python, "-m", "pytest", *sys.argv[1:]], env=surroundings()) if python else 2
    with _blenders_made_meanwhile():
        python = _python()
        failed = [name for name, command in _steps(python) if _step(name, command)] if python else []
    if not python:
        return 2
    if _step("tests inside Blender", [sys.executable, "scripts/test_blenders.py"]):
        failed.append("tests inside Blender")
    print("all clean" if not failed else "failed: " + ", ".join(failed), flush=True)
    return 1 if failed else 0


def _python() -> str:
    """Return the Python of the tests, ``""`` after a word about why there is none."""
    try:
        return str(environment("test", REQUIREMENTS))
    except SetUpFailed as problem:
        print(f"test: {problem}", file=sys.stderr)
        return ""


def _steps(python: str) -> list[tuple[str, list[str]]]:
    return [
        ("style", [python, "-m", "ruff", "check", "."]),
        ("format", [python, "-m", "ruff", "format", "--check", *FORMATTED]),
        ("types", [python, "-m", "mypy"]),
        ("tests", [python, "-m", "pytest", "-n", "2", "-m", "not blender"]),
    ]


def _blenders_made_meanwhile() -> subprocess.Popen[bytes]:
    """Make Blender's environments beside all else, from the start; the step that needs them tells what fails."""
    command = [sys.executable, "scripts/test_blenders.py", "environments"]
    return subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def _step(name: str, command: list[str]) -> int:
    say(name)
    return run(command, env=surroundings(**ONE_CORE_EACH if name in BESIDE else {}))


if __name__ == "__main__":
    sys.exit(main())
