"""Keep Blender's own chatter out of standard output, where only results belong."""

import ctypes
import os
import re
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stdout, suppress

CHATTER = re.compile(
    rb"^(\d\d:\d\d[.:]\d+ +(\w+ +)?\| +)?"
    rb"(Read blend: |Info: |INFO: |Error: |Using OCIO=|USD (im|ex)port of |(im|ex)port finished |FBX |$)"
)
"""Lines of Blender's that tell what everybody knows, or is raised as an error too; 5.0 and newer put the time and a
topic before them."""


@contextmanager
def quiet_output() -> Iterator[None]:
    """Hold back what native code prints for a while, then send what is more than chatter to standard error."""
    _flush()
    try:
        kept, said = os.dup(1), tempfile.TemporaryFile()  # noqa: SIM115 (closed below, after it was read)
    except OSError:
        yield
        return
    try:
        os.dup2(said.fileno(), 1)
        with open(1, "w", encoding="utf8", errors="replace", closefd=False) as spoken, redirect_stdout(spoken):
            yield
    finally:
        _flush()
        os.dup2(kept, 1)
        os.close(kept)
        with said, suppress(OSError):
            said.seek(0)
            os.write(2, b"".join(line for line in said if not CHATTER.match(line.rstrip())))


def _flush() -> None:
    """Empty Python's and C's buffers, so that nothing written before or after changes sides."""
    for stream in (sys.stdout, sys.stderr):
        with suppress(AttributeError, ValueError, OSError):
            stream.flush()
    with suppress(OSError, AttributeError, TypeError):
        ctypes.CDLL("ucrtbase" if sys.platform == "win32" else None).fflush(None)
