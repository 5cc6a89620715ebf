"""Build the Blender extension: one zip for each platform, its compiled kernel in a small wheel.

    python scripts/build_extension.py [--out DIR] [--platform linux-x64 ...] [--tool BLENDER_EXT_PY]

Needs ``ziglang`` for the platforms other than this machine's own; without it they are left out, which is said, and
this machine's zip is a success. What the report's page and pictures need and Blender does not ship travels along as
wheels, pinned with their hashes in ``extension_wheels.txt`` and fetched from the package registry. The guide is built
into it (``build_guide.py``).
With ``--tool`` (Blender's own ``bl_pkg/cli/blender_ext.py``), or where the ``bpy`` module is installed, each zip is
validated by it.
The zips are the same byte for byte from the same sources.
"""

import argparse
import importlib.util
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import build_guide
import build_kernel

ROOT = Path(__file__).resolve().parent.parent
SOURCE = ROOT / "addon" / "dryfit"
EPOCH = (1980, 1, 1, 0, 0, 0)
LEFT_OUT = ("__pycache__", "lib", "chapters", "pages")
LEFT_OUT_ENDINGS = (".pyc", ".c", ".h", ".so", ".dll", ".dylib")


PINS = ROOT / "scripts" / "extension_wheels.txt"
PYTHONS = ("3.11", "3.13")
"""The Pythons of the Blenders that are supported: 4.2 to 5.0, and later ones."""
CARD = "Install it in Blender: Edit, Preferences, Get Extensions, Install from Disk. Then in a 3D viewport: N, Dryfit."


@dataclass(frozen=True)
class Edition:
    """One zip: Blender's name of the platform, the kernel's target, and what wheels for it are called."""

    platform: str
    target: str
    wheels: tuple[str, ...]


EDITIONS = (
    Edition("linux-x64", "linux-x86_64", ("manylinux_2_28_x86_64", "manylinux2014_x86_64")),
    Edition("linux-arm64", "linux-aarch64", ("manylinux_2_28_aarch64", "manylinux2014_aarch64")),
    Edition("windows-x64", "windows-x86_64", ("win_amd64",)),
    Edition("windows-arm64", "windows-aarch64", ("win_arm64",)),
    Edition("macos-x64", "macos-x86_64", ("macosx_10_13_x86_64", "macosx_10_10_x86_64", "macosx_10_9_x86_64")),
    Edition("macos-arm64", "macos-aarch64", ("macosx_11_0_arm64",)),
)


class BuildFailed(Exception):
    """A zip could not be built or was not accepted; the message says why."""


class NoCompiler(BuildFailed):
    """The kernel of one platform cannot be compiled on this machine."""


def build_edition(edition: Edition, out: Path, scratch: Path) -> Path:
    """Build the zip for one platform and return its path. It appears whole or not at all.

    Raises
    ------
    NoCompiler
        When the kernel cannot be compiled here.
    BuildFailed
        When the wheels cannot be had.
    """
    try:
        library = build_kernel.build(edition.target, scratch / edition.target)
    except (RuntimeError, subprocess.TimeoutExpired) as error:
        raise NoCompiler(f"{edition.platform}: {error}") from error
    kernel = build_kernel.write_wheel(edition.target, library, scratch / "wheels")
    wheels = [kernel, *library_wheels(edition, scratch / f"libraries-{edition.platform}")]
    name = f"dryfit-{build_kernel.version()}-{edition.platform.replace('-', '_')}.zip"
    beside = out / f"{name}.part"
    with zipfile.ZipFile(beside, "w", zipfile.ZIP_DEFLATED) as archive:
        for path, data in contents(edition, wheels, guide_pages(scratch)):
            archive.writestr(zipfile.ZipInfo(path, EPOCH), data, zipfile.ZIP_DEFLATED, 9)
    return beside.replace(out / name)


def library_wheels(edition: Edition, folder: Path) -> list[Path]:
    """Fetch the pinned libraries of the report as wheels, for one platform and every Python, and return their paths.

    Raises
    ------
    BuildFailed
        When one cannot be had, or is not the pinned file.
    """
    folder.mkdir(parents=True, exist_ok=True)
    platforms = [word for name in edition.wheels for word in ("--platform", name)]
    for python in PYTHONS:
        command = [
            sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--only-binary", ":all:",
            "--require-hashes", "--requirement", str(PINS), "--python-version", python, *platforms,
            "--dest", str(folder),
        ]  # fmt: skip
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode:
            raise BuildFailed(f"{edition.platform}: the report's libraries cannot be had:\n{done.stderr[-1500:]}")
    return sorted(folder.glob("*.whl"))


def guide_pages(scratch: Path) -> Path:
    """Return the folder of the guide's pages, built once for all editions.

    Raises
    ------
    BuildFailed
        When they cannot be built.
    """
    pages = scratch / "guide" / "pages"
    try:
        return pages if pages.is_dir() else build_guide.build(pages)
    except (build_guide.GuideFailed, build_guide.SetUpFailed, subprocess.TimeoutExpired) as error:
        raise BuildFailed(str(error)) from error


def contents(edition: Edition, wheels: Sequence[Path], guide: Path) -> Iterator[tuple[str, bytes]]:
    """Yield every file of a zip with its place in it, in a fixed order."""
    yield "blender_manifest.toml", manifest(edition, [wheel.name for wheel in wheels]).encode()
    for path in sorted(SOURCE.rglob("*")):
        place = path.relative_to(SOURCE)
        if path.is_file() and place.name != "blender_manifest.toml" and not _left_out(place):
            yield place.as_posix(), path.read_bytes()
    for page in sorted(path for path in guide.rglob("*") if path.is_file()):
        yield f"guide/pages/{page.relative_to(guide).as_posix()}", page.read_bytes()
    yield "LICENSE", (ROOT / "LICENSE").read_bytes()
    for wheel in wheels:
        yield f"wheels/{wheel.name}", wheel.read_bytes()


def _left_out(place: Path) -> bool:
    return place.suffix in LEFT_OUT_ENDINGS or any(part in LEFT_OUT or part.startswith(".") for part in place.parts)


def manifest(edition: Edition, wheels: Sequence[str]) -> str:
    """Return the manifest with the platform and its wheels, and without what only a build needs."""
    listed = "".join(f'\n  "./wheels/{wheel}",' for wheel in wheels)
    text, _, _ = (SOURCE / "blender_manifest.toml").read_text().partition("[build]")
    top, mark, tables = text.partition("\n[permissions]")
    return f'{top.rstrip()}\nplatforms = ["{edition.platform}"]\nwheels = [{listed}\n]\n{mark}{tables}'


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
        left_out = list(build_all(wanted, given.out, given.tool))
    except (BuildFailed, OSError) as error:
        print(error, file=sys.stderr)
        return 1
    for reason in left_out:
        print(f"left out: {reason}", file=sys.stderr)
    if left_out and given.platform:
        print("not every platform that was asked for could be built.", file=sys.stderr)
        return 1
    print(CARD)
    return 0


def build_all(wanted: Sequence[Edition], out: Path, tool: Path | None) -> Iterator[str]:
    """Build the zips and print them; yield why a platform other than this machine's own was left out.

    Raises
    ------
    BuildFailed
        When this machine's own zip cannot be built, or any is not accepted.
    """
    here = build_kernel.NAMES.platform_name()
    with tempfile.TemporaryDirectory() as scratch:
        for edition in wanted:
            try:
                package = build_edition(edition, out, Path(scratch))
            except NoCompiler as error:
                if edition.target == here:
                    raise
                yield str(error).strip().splitlines()[0]
                continue
            if tool:
                validate(package, tool)
            size = package.stat().st_size / 1024
            print(package, f"{size:.0f} kB", "validated" if tool else "not validated")


if __name__ == "__main__":
    raise SystemExit(main())
