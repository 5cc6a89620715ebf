"""How much memory this machine has, and how a process is held to a part of it."""

import contextlib
import os
from pathlib import Path

MEGABYTE = 1024 * 1024
MEMORY_SHARE = 0.8
"""Share of the machine's memory that all processes together may use."""
LEAST_MB = 3072
"""Memory that no process is held below: a design of 500,000 triangles and Blender fit (see scripts/bench_results)."""


def limit_memory(memory_mb: int) -> None:
    """Hold this process to an amount of memory, where the platform can; 0 is any amount."""
    if memory_mb and os.name == "posix":
        import resource

        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(resource.RLIMIT_DATA, (memory_mb * MEGABYTE, memory_mb * MEGABYTE))


def memory_share_mb(jobs: int) -> int:
    """Return a process's share of most of this machine's memory, MB; 0, no limit, where the machine does not tell.

    It is never below what a dense design needs.
    """
    return max(LEAST_MB, int(MEMORY_SHARE * installed_mb() / jobs)) if installed_mb() else 0


def installed_mb() -> float:
    """Return the memory of this machine, or of the container it is, MB; 0 where that is not known."""
    try:
        machine = os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE") / MEGABYTE
    except (AttributeError, ValueError, OSError):
        return 0.0
    try:
        contained = Path("/sys/fs/cgroup/memory.max").read_text(encoding="ascii").strip()
    except OSError:
        return machine
    return min(machine, int(contained) / MEGABYTE) if contained.isdigit() else machine
