"""Find and load the compiled kernel."""

from __future__ import annotations

import ctypes
import importlib.util
import os
import platform
import sys
import sysconfig
import warnings
from collections.abc import Iterator
from functools import cache
from pathlib import Path

INTERFACE = 3
"""Must equal dryfit_interface() of the binary."""

_ENDINGS = {"linux": "so", "windows": "dll", "macos": "dylib"}
_SYSTEMS = {"linux": "linux", "win32": "windows", "darwin": "macos"}
_MACHINES = {"x86_64": "x86_64", "amd64": "x86_64", "aarch64": "aarch64", "arm64": "aarch64"}


class KernelMissing(UserWarning):
    """No compiled kernel fits this machine; the slow numpy twin answers instead."""


def platform_name() -> str:
    """Return this interpreter's platform as in the library's file name, such as ``linux-x86_64``."""
    machine = sysconfig.get_platform().rsplit("-", 1)[-1].lower()
    if machine not in _MACHINES:
        machine = platform.machine().lower()
    system = _SYSTEMS.get(sys.platform, sys.platform)
    return f"{system}-{_MACHINES.get(machine, machine)}"


def library_name(target: str) -> str:
    """Return the file name of the library for a platform such as ``macos-aarch64``."""
    return f"dryfit_kernel-{target}.{_ENDINGS.get(target.split('-')[0], 'so')}"


def library_folder() -> Path:
    """Return the folder in this package that a build writes to."""
    return Path(__file__).parent / "lib"


def _candidates() -> Iterator[Path]:
    name = library_name(platform_name())
    chosen = os.environ.get("DRYFIT_KERNEL")
    if chosen:
        yield Path(chosen)
        return
    yield library_folder() / name
    found = importlib.util.find_spec("dryfit_kernel")
    for folder in (found.submodule_search_locations or ()) if found else ():
        yield Path(folder) / name


@cache
def load_library() -> ctypes.CDLL | None:
    """Load the kernel once; ``None``, with one warning, where no binary fits.

    Looked for beside this file, then in an installed ``dryfit_kernel`` package. The environment variable
    ``DRYFIT_KERNEL`` names another file; ``DRYFIT_KERNEL=none`` asks for the numpy twin.

    Warns
    -----
    KernelMissing
        If no library is there or none loads.
    """
    if os.environ.get("DRYFIT_KERNEL") == "none":
        return None
    reasons = []
    for path in _candidates():
        try:
            library = ctypes.CDLL(str(path))
            found = int(library.dryfit_interface())
        except (OSError, AttributeError) as error:
            reasons.append(f"{path}: {error}" if path.exists() else f"{path}: not there")
            continue
        if found == INTERFACE:
            return library
        reasons.append(f"{path}: interface {found}, wanted {INTERFACE}")
    warnings.warn(
        f"no compiled kernel for {platform_name()}, measuring with numpy instead (much slower); build it with "
        f"'python scripts/build_kernel.py'. Tried {'; '.join(reasons)}",
        KernelMissing,
        stacklevel=3,
    )
    return None
