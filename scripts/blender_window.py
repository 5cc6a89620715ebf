"""A real Blender with a window, on a machine that has neither: set one up, run a script in it.

    python3 scripts/blender_window.py setup [--suite trixie|sid]
    python3 scripts/blender_window.py run SCRIPT.py [--suite ...] [--file DESIGN.blend] [--out DIR] [ARGUMENT ...]

A folder is filled with Debian's own packages (trixie: Blender 4.3, sid: Blender 5.2) by debootstrap; Blender runs
there under a virtual display with software rendering. Needs root and debootstrap on a Debian-like machine.
Only the standard library is used here.
"""

import argparse
import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
SUITES = ("trixie", "sid")
PACKAGES = (
    "blender", "libgl1-mesa-dri", "libegl1", "libegl-mesa0", "libglx-mesa0", "xvfb", "xauth", "xdotool", "x11-utils",
    "imagemagick", "fonts-dejavu-core", "python3-numpy", "python3-requests", "python3-zstandard", "python3-cattr",
    "python3-pytest", "python3-jinja2", "python3-jsonschema", "python3-pil",
)  # fmt: skip
SCREEN = (1600, 900)


class NoWindow(Exception):
    """A Blender with a window could not be set up or run; the message says why and what to do."""


@dataclass(frozen=True)
class Place:
    """A folder that holds a Debian system with Blender.

    Attributes
    ----------
    suite
        Debian's name of the release.
    folder
        Root of that system.
    """

    suite: str
    folder: Path

    @property
    def ready(self) -> bool:
        """Whether Blender is installed there."""
        return (self.folder / ".blender-ready").exists()

    @property
    def shared(self) -> Path:
        """The folder that scripts in the window see as ``/srv``."""
        return self.folder / "srv"


def place_for(suite: str) -> Place:
    """Return the folder for a suite: ``$DRYFIT_WINDOW/SUITE``, else ``.window-SUITE`` in the project."""
    chosen = os.environ.get("DRYFIT_WINDOW")
    return Place(suite, Path(chosen) / suite if chosen else ROOT / f".window-{suite}")


def set_up(place: Place) -> Place:
    """Fill the folder with Debian and Blender, once.

    Raises
    ------
    NoWindow
        When a tool is missing or a package cannot be had.
    """
    if place.ready:
        return place
    for tool in ("debootstrap", "chroot"):
        if shutil.which(tool) is None:
            raise NoWindow(f"{tool} is missing: apt-get install debootstrap, and run this as root.")
    if not (place.folder / ".system-ready").exists():
        shutil.rmtree(place.folder, ignore_errors=True)
        _do(["debootstrap", "--variant=minbase", place.suite, str(place.folder), _mirror()])
        (place.folder / ".system-ready").touch()
    _settings(place.folder)
    inside = ["chroot", str(place.folder), "env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-q"]
    _do([*inside, "update"])
    _do([*inside, "install", "-y", "--no-install-recommends", *PACKAGES])
    _do([*inside, "clean"])
    (place.folder / ".blender-ready").touch()
    return place


def _mirror() -> str:
    stated = os.environ.get("DEBIAN_MIRROR")
    if stated:
        return stated
    asked = subprocess.run(
        ["apt-get", "indextargets", "--format", "$(REPO_URI)"], capture_output=True, text=True, check=False
    )
    found = [line for line in asked.stdout.splitlines() if line.rstrip("/").endswith("/debian")]
    return found[0] if found else "http://deb.debian.org/debian"


def _settings(folder: Path) -> None:
    """Give the system this machine's network settings, and keep it from starting services."""
    for source in [Path("/etc/resolv.conf"), *Path("/etc/apt/apt.conf.d").glob("99*")]:
        shutil.copy(source, folder / str(source).lstrip("/"))
    policy = folder / "usr/sbin/policy-rc.d"
    policy.write_text("#!/bin/sh\nexit 101\n")
    policy.chmod(0o755)


def _do(command: list[str]) -> None:
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise NoWindow(f"'{' '.join(command[:4])} ...' failed:\n{(done.stdout + done.stderr)[-2000:]}")


def run(place: Place, arguments: list[str], seconds: int = 180, screen: tuple[int, int] = SCREEN) -> str:
    """Run Blender with a window and return what it printed, complaints of scripts and panels after the rest.

    Parameters
    ----------
    place
        A folder set up before.
    arguments
        Blender's arguments; paths as seen from inside, under ``/srv``. With ``--background`` there is no window.
    seconds
        After this it is stopped.
    screen
        Width and height of the display, pixels.

    Raises
    ------
    NoWindow
        When Blender does not end by itself or ends in failure.
    """
    width, height = screen
    clean = ["env", "-i", "PATH=/usr/bin:/bin", "HOME=/srv/home", "LANG=C.UTF-8", "LIBGL_ALWAYS_SOFTWARE=1"]
    display = ["xvfb-run", "-a", "-s", f"-screen 0 {width}x{height}x24"]
    size = [] if "--background" in arguments else ["--window-geometry", "0", "0", str(width), str(height)]
    blender = ["blender", *size, *arguments]
    command = ["chroot", str(place.folder), *clean, "timeout", str(seconds), *display, *blender]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise NoWindow(f"Blender ended with {done.returncode}:\n{(done.stdout + done.stderr)[-4000:]}")
    return done.stdout + done.stderr


def share(place: Place, source: Path, name: str | None = None) -> str:
    """Copy a file or folder where the window can read it and return its path as seen from inside."""
    target = place.shared / (name or source.name)
    if source.is_dir():
        shutil.rmtree(target, ignore_errors=True)
        shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__"))
    else:
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(source, target)
    return f"/srv/{target.relative_to(place.shared)}"


def main() -> int:
    """Run the command line and return its exit code."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("job", choices=("setup", "run"))
    parser.add_argument("script", nargs="?", type=Path)
    parser.add_argument("arguments", nargs="*")
    parser.add_argument("--suite", choices=SUITES, default="trixie")
    parser.add_argument("--file", type=Path)
    parser.add_argument("--out", type=Path, default=Path("window-pictures"))
    given = parser.parse_args()
    try:
        place = set_up(place_for(given.suite))
        if given.job == "run":
            print(_drive(place, given.script, given.file, given.out, given.arguments))
    except NoWindow as error:
        print(error, file=sys.stderr)
        return 2
    return 0


def _drive(place: Place, script: Path, file: Path | None, out: Path, arguments: list[str]) -> str:
    share(place, ROOT / "addon/dryfit", "addon/dryfit")
    inside = share(place, script)
    opened = [share(place, file)] if file else []
    pictures = place.shared / "pictures"
    shutil.rmtree(pictures, ignore_errors=True)
    pictures.mkdir(parents=True)
    rest = ["--", *arguments] if arguments else []
    said = run(place, ["--factory-startup", "--enable-event-simulate", *opened, "--python", inside, *rest])
    out.mkdir(parents=True, exist_ok=True)
    for picture in pictures.iterdir():
        shutil.copy(picture, out / picture.name)
    return said


if __name__ == "__main__":
    sys.exit(main())
