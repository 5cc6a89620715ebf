"""Why Blender did not read or write a file, in a clause: not its importers' own words, paths and tracebacks."""

import re
from pathlib import Path

from .blender import blender

PYTHON_SAYS = "Traceback (most recent call last)"
NOT_THE_REASON = re.compile(r"\s|File |Location:|Error: Python:|Traceback ")
PYTHON_KIND = re.compile(r"^[\w.]+: ")
NEWER = re.compile(r"\bnewer\b.*\bversion|\bversion\b.*\bnewer\b", re.IGNORECASE)
BOILERPLATE = re.compile(
    r"^(Error: |Loading (failed: )?|Cannot read file:? ?|Failed to read blend file:? ?|Couldn't open file |"
    r"[A-Z]{3} Import(er)?:+ ?|Bad (GLB|glTF): |unable to open stage to read.*|failed importing, unknown error|"
    r"File format is not supported in file|unable to open file.*|: )+"
)
"""What an importer says before the reason, or in its place."""
WORDS = re.compile(r"[^\W\d_]{2,}\W+\w")
"""Fewer words than two are no reason: importers written in Python may say no more than a number."""


def one_line(error: BaseException) -> str:
    """Return an error's own words on one line; of Python in Blender, what went wrong and not where."""
    said = str(error).strip()
    if PYTHON_SAYS in said:
        reasons = [line for line in said.splitlines() if line and not NOT_THE_REASON.match(line)]
        said = PYTHON_KIND.sub("", reasons[-1]) if reasons else ""
    return " ".join(said.removeprefix("Error: ").split())


def why_unreadable(path: Path, error: BaseException) -> str:
    """Return why a file cannot be read, as a clause of a sentence that names the file."""
    said = one_line(error)
    if NEWER.search(said):
        return f"a newer Blender than {blender().app.version_string} wrote it; open it with that one"
    for name in (str(path.resolve()), str(path), path.name, path.stem):
        said = re.sub(rf"\s*['\"]?{re.escape(name)}['\"]?(?=[\s:(]|$)", "", said)
    said = BOILERPLATE.sub("", said).strip(" :.")
    if said.startswith("(") and said.endswith(")"):
        said = said[1:-1]
    reason = f" ({said})" if WORDS.search(said) else ""
    return f"it is damaged, or no {path.suffix.lower()} file whatever its name says{reason}; export or save it again"
