"""Files that are still being written: their names, and what a process that was killed left of them."""

import hashlib
import os
import platform
import re
import shutil
import time
from collections.abc import Iterable
from contextlib import suppress
from functools import lru_cache
from pathlib import Path

PART = re.compile(r"\.(?P<process>\d+)(-(?P<machine>[0-9a-f]{6}))?\.part(\.[^.]+)?@?$")
"""How a part's name ends. Blender writes beside the name that it is given, with an ``@`` behind it."""
FOREIGN_S = 24 * 3600.0
"""A part whose process cannot be looked up from here is taken as left behind when nobody wrote to it for so long."""
THIS_BOOT = ("/proc/sys/kernel/random/boot_id", "/proc/self/ns/pid")
"""Where Linux tells one start of a machine from the next, and one container's process numbers from another's."""


def part_beside(target: Path) -> Path:
    """Return the hidden name under which a file is written before it is renamed; it says who writes it."""
    return target.with_name(f".{target.stem}{part_mark()}{target.suffix}")


def part_mark() -> str:
    """Return how the name of something ends that this process will take away again."""
    return f".{os.getpid()}-{_machine()}.part"


def is_part(name: str) -> bool:
    """Tell whether a file's name is that of a part."""
    return PART.search(name) is not None


def sweep_parts(folders: Iterable[Path]) -> None:
    """Remove the parts in some folders whose process is gone; what cannot be removed stays."""
    for folder in dict.fromkeys(folders):
        with suppress(OSError):
            for path in folder.iterdir():
                if path.name.startswith(".") and _is_stale(path):
                    path.unlink()


def sweep_part_folders(place: Path, begin: str) -> None:
    """Remove the folders in a place whose names begin so and whose process is gone, with what is in them."""
    with suppress(OSError):
        for path in place.iterdir():
            if path.name.startswith(begin) and path.is_dir() and _is_stale(path):
                shutil.rmtree(path, ignore_errors=True)


def _is_stale(path: Path) -> bool:
    said = PART.search(path.name)
    if said is None or not said["machine"]:
        return False
    if said["machine"] == _machine() and os.name == "posix":
        return not _is_running(int(said["process"]))
    return time.time() - path.stat().st_mtime > FOREIGN_S


def _is_running(process: int) -> bool:
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except OSError:
        return True
    return True


@lru_cache(maxsize=1)
def _machine() -> str:
    """Return a few letters for this machine since it was started, or for this container of it."""
    said = [platform.node()]
    with suppress(OSError):
        said += [Path(THIS_BOOT[0]).read_text(encoding="ascii"), str(Path(THIS_BOOT[1]).readlink())]
    return hashlib.sha256("\n".join(said).encode("utf8", "replace")).hexdigest()[:6]
