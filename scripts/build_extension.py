"""Build the Blender extension: one zip for each platform, its compiled kernel in a small wheel.

    python scripts/build_extension.py [--out DIR] [--platform linux-x64 ...] [--tool BLENDER_EXT_PY]

Needs ``ziglang`` for the platforms other than this machine's own. With ``--tool`` (Blender's own
``bl_pkg/cli/blender_ext.py``), or where the ``bpy`` module is installed, each zip is validated by it.
The zips are the same byte for byte from the same sources.
"""

import argparse
import importlib.util
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import build_kernel

ROOT = Path(__file__).resolve().parent.parent
SOURCE = ROOT / "addon" / "dryfit"
EPOCH = (1980, 1, 1, 0, 0, 0)
LEFT_OUT = ("__pycache__", "lib")
LEFT_OUT_ENDINGS = (".pyc", ".c", ".h", ".so", ".dll", ".dylib")


@dataclass(frozen=True)
class Edition:
    """One zip: Blender's name of the platform, and the kernel's target."""

    platform: str
    target: str


EDITIONS = (
    Edition("linux-x64", "linux-x86_64"),
    Edition("linux-arm64", "linux-aarch64"),
    Edition("windows-x64", "windows-x86_64"),
    Edition("windows-arm64", "windows-aarch64"),
    Edition("macos-x64", "macos-x86_64"),
    Edition("macos-arm64", "macos-aarch64"),
)


class BuildFailed(Exception):
    """A zip could not be built or was not accepted; the message says why."""


def build_edition(edition: Edition, out: Path, scratch: Path) -> Path:
    """Build the zip for one platform and return its path. It appears whole or not at all.

    Raises
    ------
    BuildFailed
        When the kernel cannot be compiled.
    """
    try:
        library = build_kernel.build(edition.target, scratch / edition.target)
    except (RuntimeError, subprocess.TimeoutExpired) as error:
        raise BuildFailed(f"{edition.platform}: {error}") from error
    wheel = build_kernel.write_wheel(edition.target, library, scratch / "wheels")
    name = f"dryfit-{build_kernel.version()}-{edition.platform.replace('-', '_')}.zip"
    beside = out / f"{name}.part"
    with zipfile.ZipFile(beside, "w", zipfile.ZIP_DEFLATED) as archive:
        for path, data in contents(edition, wheel):
            archive.writestr(zipfile.ZipInfo(path, EPOCH), data, zipfile.ZIP_DEFLATED, 9)
    return beside.replace(out / name)


def contents(edition: Edition, wheel: Path) -> Iterator[tuple[str, bytes]]:
    """Yield every file of a zip with its place in it, in a fixed order."""
    yield "blender_manifest.toml", manifest(edition, wheel.name).encode()
    for path in sorted(SOURCE.rglob("*")):
        place = path.relative_to(SOURCE)
        if path.is_file() and place.name != "blender_manifest.toml" and not _left_out(place):
            yield place.as_posix(), path.read_bytes()
    yield "LICENSE", (ROOT / "LICENSE").read_bytes()
    yield f"wheels/{wheel.name}", wheel.read_bytes()


def _left_out(place: Path) -> bool:
    return place.suffix in LEFT_OUT_ENDINGS or any(part in LEFT_OUT or part.startswith(".") for part in place.parts)


def manifest(edition: Edition, wheel: str) -> str:
    """Return the manifest with the platform and its wheel, and without what only a build needs."""
    text, _, _ = (SOURCE / "blender_manifest.toml").read_text().partition("[build]")
    top, mark, tables = text.partition("\n[permissions]")
    return f'{top.rstrip()}\nplatforms = ["{edition.platform}"]\nwheels = ["./wheels/{wheel}"]\n{mark}{tables}'


def validate(package: Path, tool: Path) -> None:
    """Let Blender's own tool look at a zip.

    Raises
    ------
    BuildFailed
        With the tool's words, when it refuses it.
    """
    command = [sys.executable, str(tool), "validate", str(package)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise BuildFailed(f"{package.name} is not accepted:\n{done.stdout}{done.stderr}")


def blenders_tool() -> Path | None:
    """Return Blender's own extension tool in the installed ``bpy`` module, or None. Nothing is imported."""
    found = importlib.util.find_spec("bpy")
    for folder in (found.submodule_search_locations or ()) if found else ():
        for tool in sorted(Path(folder).glob("*/scripts/addons_core/bl_pkg/cli/blender_ext.py")):
            return tool
    return None


def main() -> int:
    """Build the zips and return the exit code."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--out", type=Path, default=ROOT / "dist", metavar="DIR")
    parser.add_argument("--platform", nargs="+", choices=[each.platform for each in EDITIONS], metavar="NAME")
    parser.add_argument("--tool", type=Path, default=blenders_tool(), metavar="FILE")
    given = parser.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    wanted = [each for each in EDITIONS if not given.platform or each.platform in given.platform]
    try:
        with tempfile.TemporaryDirectory() as scratch:
            for edition in wanted:
                package = build_edition(edition, given.out, Path(scratch))
                if given.tool:
                    validate(package, given.tool)
                print(
                    package, f"{package.stat().st_size / 1024:.0f} kB", "validated" if given.tool else "not validated"
                )
    except (BuildFailed, OSError) as error:
        print(error, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
