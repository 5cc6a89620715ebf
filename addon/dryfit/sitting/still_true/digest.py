"""A short hash of pieces of a design: the same pieces in the same order give the same one, on every machine."""

import hashlib
from collections.abc import Iterable
from typing import Any

DIGITS = 12


def digest(pieces: Iterable[Any]) -> str:
    """Return the first digits of the SHA-256 of some pieces, each bytes or a contiguous array."""
    summed = hashlib.sha256()
    for piece in pieces:
        summed.update(memoryview(piece).nbytes.to_bytes(8, "little"))
        summed.update(piece)
    return summed.hexdigest()[:DIGITS]
