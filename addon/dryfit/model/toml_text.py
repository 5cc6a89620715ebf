"""TOML as it comes from anybody: read from a plain file of sensible size, and every complaint one sentence."""

import os
import stat
import sys
import tomllib
from pathlib import Path
from typing import Any

from .errors import UnreadableFile

MOST_BYTES = 4_000_000
"""A brief of a hundred thousand landmarks would be smaller."""
DEEPEST_KEY = 32
"""Parts of a dotted key; a brief needs four, and reading takes the square of it."""


def toml_text(path: str | Path) -> str:
    """Return the text of a TOML file, without a byte order mark.

    Raises
    ------
    UnreadableFile
        When it is no plain file, larger than any brief, or no UTF-8.
    """
    try:
        with _opened(path) as file:
            state = os.fstat(file.fileno())
            if not stat.S_ISREG(state.st_mode):
                raise UnreadableFile(str(path), "it is no plain file")
            if state.st_size > MOST_BYTES:
                raise UnreadableFile(str(path), f"it has {state.st_size:,} bytes; a brief has at most {MOST_BYTES:,}")
            return file.read().decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise UnreadableFile(str(path), str(error)) from error


def _opened(path: str | Path) -> Any:
    """Open a file without waiting for anybody to write to it, as a pipe with a name would have one do."""
    return os.fdopen(os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)), "rb")


def parse_toml(text: str, source: str) -> dict[str, Any]:
    """Return what TOML text states; ``source`` names it in complaints.

    Raises
    ------
    UnreadableFile
        When it is no TOML, or nested or numbered beyond what can be read.
    """
    for number, line in enumerate(text.splitlines(), 1):
        key = line.partition("=")[0] if "=" in line else line.strip() if line.lstrip().startswith("[") else ""
        if key.count(".") > DEEPEST_KEY and "," not in key:
            raise UnreadableFile(source, f"the key at line {number} has {key.count('.') + 1} parts")
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise UnreadableFile(source, "its brackets are nested too deep") from error
    except tomllib.TOMLDecodeError as error:
        raise UnreadableFile(source, str(error)) from error
    except ValueError as error:  # Python reads whole numbers of so many digits only
        most = sys.get_int_max_str_digits()
        raise UnreadableFile(source, f"a number in it has more than {most} digits") from error
