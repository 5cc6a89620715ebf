"""The greatest amount of memory that this process has used."""

import sys
from pathlib import Path

STATUS = Path("/proc/self/status")


def peak_mb() -> float:
    """Return this process's greatest memory so far, MB; 0 where the platform does not tell.

    Read from Linux's own status where there is one: the figure of ``getrusage`` starts, after an ``exec``, from what
    the process that started this one had used, so that a small process started by a large one would seem large.
    """
    return status_mb() or usage_mb()


def status_mb() -> float:
    """Return the high-water mark of Linux's ``/proc``, MB; 0 where there is none."""
    try:
        lines = STATUS.read_text(encoding="ascii", errors="replace").splitlines()
    except OSError:
        return 0.0
    return next((float(line.split()[1]) / 1024.0 for line in lines if line.startswith("VmHWM:")), 0.0)


def usage_mb() -> float:
    """Return the greatest resident set by ``getrusage``, MB; 0 where that is not known."""
    try:
        import resource
    except ImportError:
        return 0.0
    unit = 1024.0**2 if sys.platform == "darwin" else 1024.0
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit
