"""What fuzz.py calls wrong, and how a fault is named."""

from __future__ import annotations

import traceback
from dataclasses import dataclass


@dataclass(frozen=True)
class Wrong:
    """One thing that is wrong; its kind is ``crash``, ``silent pass``, ``wrong sign`` or another word."""

    kind: str
    words: str


def crashed(fault: BaseException) -> Wrong:
    """Return the word for a fault, with the place in the code that it came from."""
    place = traceback.extract_tb(fault.__traceback__)[-1]
    ours = [each for each in traceback.extract_tb(fault.__traceback__) if "dryfit" in each.filename] or [place]
    return Wrong("crash", f"{type(fault).__name__}: {fault} (line {ours[-1].lineno} of {ours[-1].filename})")


def bad_sentence(said: str) -> str:
    """Return what is wrong about a complaint: it is one clear line, without control characters."""
    if "\n" in said or any(ord(letter) < 32 or 127 <= ord(letter) < 160 for letter in said):
        return f"not one clean line: {said[:200]!r}"
    return f"{len(said)} letters: {said[:200]!r}" if len(said) > 1200 else ""
