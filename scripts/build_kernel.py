"""Compile the geometry kernel.

    python scripts/build_kernel.py               for this machine, into the source tree
    python scripts/build_kernel.py --all         for all six platforms
    python scripts/build_kernel.py --wheels DIR  for all six, each in a small wheel for the Blender extension

The compiler is the one in the ``ziglang`` package, which builds for every platform from any; without it, ``cc``
builds for this machine.
"""

from __future__ import annotations

import argparse
import base64
import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
import tempfile
import zipfile
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

ROOT = Path(__file__).resolve().parent.parent
KERNEL = ROOT / "addon" / "dryfit" / "geometry" / "kernel"
FLAGS = (
    *("-std=c11", "-O3", "-ffp-contract=off", "-fno-math-errno", "-fvisibility=hidden"),
    *("-Wall", "-Wextra", "-Wno-psabi"),
)
MOST_SECONDS = 900


@dataclass(frozen=True)
class Target:
    """A platform: what zig calls it and what a wheel does."""

    zig: str
    wheel: str

    @property
    def windows(self) -> bool:
        """Whether the library is a DLL."""
        return "windows" in self.zig


TARGETS = {
    "linux-x86_64": Target("x86_64-linux-gnu.2.17", "manylinux_2_17_x86_64.manylinux2014_x86_64"),
    "linux-aarch64": Target("aarch64-linux-gnu.2.17", "manylinux_2_17_aarch64.manylinux2014_aarch64"),
    "windows-x86_64": Target("x86_64-windows-gnu", "win_amd64"),
    "windows-aarch64": Target("aarch64-windows-gnu", "win_arm64"),
    "macos-x86_64": Target("x86_64-macos.10.15", "macosx_10_15_x86_64"),
    "macos-aarch64": Target("aarch64-macos.11.0", "macosx_11_0_arm64"),
}


def load_names() -> ModuleType:
    """Import ``library.py`` by itself, without the package (which needs numpy)."""
    spec = importlib.util.spec_from_file_location("kernel_library", KERNEL / "library.py")
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


NAMES = load_names()


def compiler(target: str) -> list[str]:
    """Return the command that compiles for a target.

    Raises
    ------
    RuntimeError
        If neither zig nor, for this machine, a C compiler is there.
    """
    if importlib.util.find_spec("ziglang"):
        return [sys.executable, "-m", "ziglang", "cc", "-target", TARGETS[target].zig]
    local = shutil.which(os.environ.get("CC", "cc")) or shutil.which("gcc") or shutil.which("clang")
    if target != NAMES.platform_name() or not local:
        raise RuntimeError(f"no compiler for {target}: pip install ziglang")
    return [local]


def run(command: list[str]) -> None:
    """Run a compiler; its complaints become the error."""
    done = subprocess.run(command, capture_output=True, text=True, timeout=MOST_SECONDS, check=False)
    if done.returncode:
        raise RuntimeError(f"{' '.join(command)}\n{done.stderr.strip()}")


def build(target: str, folder: Path | None = None) -> Path:
    """Compile for one target and return the library's path. It appears whole or not at all."""
    folder = folder or NAMES.library_folder()
    folder.mkdir(parents=True, exist_ok=True)
    library = folder / NAMES.library_name(target)
    command, x86 = compiler(target), target.endswith("x86_64")
    position = [] if TARGETS[target].windows else ["-fPIC"]
    with tempfile.TemporaryDirectory(dir=folder) as scratch:
        levels = [("base", []), ("avx2", ["-mavx2", "-mfma", "-DLEVEL_AVX2"])] if x86 else [("base", [])]
        objects = []
        for name, extra in levels:
            objects.append(str(Path(scratch) / f"{name}.o"))
            run([*command, *FLAGS, *position, *extra, "-c", str(KERNEL / "kernel.c"), "-o", objects[-1]])
        linked = Path(scratch) / library.name
        math = [] if TARGETS[target].windows or target.startswith("macos") else ["-lm"]
        run([*command, "-shared", "-s", *objects, *math, "-o", str(linked)])
        linked.replace(library)
    return library


def version() -> str:
    """Return the project's version."""
    stated = (ROOT / "addon" / "dryfit" / "model" / "version.py").read_text(encoding="utf-8")
    return stated.split('VERSION = "')[1].split('"')[0]


def write_wheel(target: str, library: Path, folder: Path) -> Path:
    """Pack one library as ``dryfit_kernel``, a package that is nothing but it."""
    folder.mkdir(parents=True, exist_ok=True)
    name, number = "dryfit_kernel", version()
    info = f"{name}-{number}.dist-info"
    tags = "".join(f"Tag: py3-none-{tag}\n" for tag in TARGETS[target].wheel.split("."))
    files = {
        f"{name}/__init__.py": b'"""The compiled geometry kernel of Dryfit, for one platform."""\n',
        f"{name}/{library.name}": library.read_bytes(),
        f"{info}/METADATA": f"Metadata-Version: 2.1\nName: {name}\nVersion: {number}\n"
        "Summary: Compiled geometry kernel of Dryfit\nLicense: GPL-3.0-or-later\n".encode(),
        f"{info}/WHEEL": f"Wheel-Version: 1.0\nGenerator: build_kernel\nRoot-Is-Purelib: false\n{tags}".encode(),
    }
    record = [f"{path},sha256={_digest(data)},{len(data)}\n" for path, data in files.items()]
    files[f"{info}/RECORD"] = "".join([*record, f"{info}/RECORD,,\n"]).encode()
    wheel = folder / f"{name}-{number}-py3-none-{TARGETS[target].wheel}.whl"
    with zipfile.ZipFile(wheel, "w", zipfile.ZIP_DEFLATED) as archive:
        for path, data in files.items():
            archive.writestr(zipfile.ZipInfo(path, (1980, 1, 1, 0, 0, 0)), data, zipfile.ZIP_DEFLATED)
    return wheel


def _digest(data: bytes) -> str:
    return base64.urlsafe_b64encode(hashlib.sha256(data).digest()).rstrip(b"=").decode()


def main() -> int:
    parser = argparse.ArgumentParser(description="Compile the geometry kernel.")
    parser.add_argument("--all", action="store_true", help="all six platforms")
    parser.add_argument("--wheels", type=Path, metavar="DIR", help="all six, packed as wheels")
    parser.add_argument("--out", type=Path, metavar="DIR", help="folder for the libraries, default the source tree")
    chosen = parser.parse_args()
    targets = list(TARGETS) if chosen.all or chosen.wheels else [NAMES.platform_name()]
    for target in targets:
        try:
            library = build(target, chosen.out)
        except (RuntimeError, KeyError, subprocess.TimeoutExpired) as error:
            print(f"{target}: {error}", file=sys.stderr)
            return 1
        print(library, library.stat().st_size)
        if chosen.wheels:
            print(write_wheel(target, library, chosen.wheels))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
