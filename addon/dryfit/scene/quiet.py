"""Keep Blender's own chatter out of standard output, where only results belong."""

import ctypes
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress


@contextmanager
def quiet_output() -> Iterator[None]:
    """Send what native code prints to standard error for a while."""
    _flush()
    try:
        kept = os.dup(1)
    except OSError:
        yield
        return
    try:
        os.dup2(2, 1)
        yield
    finally:
        _flush()
        os.dup2(kept, 1)
        os.close(kept)


def _flush() -> None:
    """Empty Python's and C's buffers, so that nothing written before or after changes sides."""
    for stream in (sys.stdout, sys.stderr):
        with suppress(AttributeError, ValueError, OSError):
            stream.flush()
    with suppress(OSError, AttributeError, TypeError):
        ctypes.CDLL("ucrtbase" if sys.platform == "win32" else None).fflush(None)
