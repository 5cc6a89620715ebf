"""Make the project's own Python environment, once, with a clear word when that fails.

Only the standard library is used here: this runs before anything is installed.
"""

import hashlib
import os
import shutil
import subprocess
import sys
import venv
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

try:
    import fcntl
except ImportError:  # Windows has none; there two are not started at once
    fcntl = None  # type: ignore[assignment]

ROOT = Path(__file__).resolve().parent.parent
OLDEST = (3, 11)


class SetUpFailed(Exception):
    """The environment could not be made; the message says why and what to do."""


def environment(name: str, requirements: list[str]) -> Path:
    """Return the Python of environment ``.venv-NAME``, made or renewed when requirements or metadata changed.

    Raises
    ------
    SetUpFailed
        When Python is too old, the disk is full or a registry cannot be reached.
    """
    if sys.version_info < OLDEST:
        raise SetUpFailed(f"Python {OLDEST[0]}.{OLDEST[1]} or newer is needed; this is {sys.version.split()[0]}.")
    folder = ROOT / f".venv-{name}"
    python = folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    stamp, wanted = folder / "stamp", _wanted(requirements)
    with _alone(folder):
        if not (python.exists() and stamp.exists() and stamp.read_text() == wanted):
            _make(folder, python, requirements)
            stamp.write_text(wanted)
    return python


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Wait until nobody else makes this environment: two that install into it at once leave it broken."""
    with folder.with_name(f"{folder.name}.lock").open("w") as held:
        if fcntl is not None:
            fcntl.flock(held, fcntl.LOCK_EX)
        yield


def _make(folder: Path, python: Path, requirements: list[str]) -> None:
    say(f"making {folder.name} (once; a few minutes the first time)")
    try:
        if not python.exists() or not is_version(str(python), this_version()):
            venv.create(folder, with_pip=True, clear=folder.exists())
    except (OSError, subprocess.CalledProcessError) as error:
        raise SetUpFailed(f"The environment {folder} could not be made: {error}") from error
    for requirement in requirements:
        say(f"installing {requirement}")
        _install(python, requirement)


def _install(python: Path, requirement: str) -> None:
    command = [str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    done = subprocess.run([*command, *requirement.split()], cwd=ROOT, capture_output=True, text=True, check=False)
    if done.returncode:
        raise SetUpFailed(
            f"Installing '{requirement}' failed. Is the package registry reachable, and is there room on the disk?\n"
            + done.stderr[-2000:]
        )


def _wanted(requirements: list[str]) -> str:
    metadata = (ROOT / "pyproject.toml").read_text() + "".join(
        path.read_text() for path in sorted((ROOT / "addon/dryfit/geometry/kernel").glob("*.[ch]"))
    )
    return hashlib.sha256("\n".join([sys.version, *requirements, metadata]).encode()).hexdigest()


def this_version() -> str:
    """Return the version of this Python, ``3.11``."""
    return f"{sys.version_info[0]}.{sys.version_info[1]}"


def pythons(version: str) -> Iterator[str]:
    """Find interpreters of one Python version: this one, those on the path, those that pyenv keeps."""
    candidates = [sys.executable, shutil.which(f"python{version}") or ""]
    kept = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv")) / "versions"
    candidates += [str(path / "bin" / "python") for path in sorted(kept.glob(f"{version}.*"))]
    return (python for python in candidates if python and is_version(python, version))


def is_version(python: str, version: str) -> bool:
    """Tell whether an interpreter starts and is of that version."""
    code = "import sys; print('%d.%d' % sys.version_info[:2])"
    try:
        done = subprocess.run([python, "-c", code], capture_output=True, text=True, check=False)
    except OSError:
        return False
    return done.stdout.strip() == version


def say(words: str) -> None:
    """Print one line of progress at once."""
    print(f"· {words}", flush=True)


ONE_CORE_EACH = {"DRYFIT_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
"""Environment of programs of which one runs on each core: threads of theirs would only wait for each other."""


def surroundings(**more: str) -> dict[str, str]:
    """Return the environment for tests: this process's, with more, and bytecode written whatever it says of that.

    Tests start hundreds of processes; without bytecode each of them compiles all modules, for half of its time.
    """
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return kept | more


def run(command: list[str], **options: object) -> int:
    """Run a command in the project's folder and return its exit code."""
    return subprocess.run(command, cwd=ROOT, check=False, **options).returncode  # type: ignore[call-overload, no-any-return]
