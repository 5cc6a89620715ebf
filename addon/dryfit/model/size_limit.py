"""The most triangles that a design of a batch may have: beyond it, it would hold up a night's work."""

from .errors import InputError
from .snapshot import Snapshot

MOST_TRIANGLES = 4_000_000
"""Default of a batch: twenty times a dense sculpt of 200,000 triangles (common practice, no source)."""


class TooManyTriangles(InputError):
    """A design heavier than the batch takes."""

    def __init__(self, source: str, found: int, most: int, heaviest: str) -> None:
        super().__init__(
            f"{source}: {found:,} triangles are more than the {most:,} of --max-triangles; most are in '{heaviest}'. "
            "Reduce it (a sculpt's export rarely needs over 500,000), or raise the limit."
        )


def require_light(snapshot: Snapshot, most: int) -> None:
    """Raise when a design has more triangles than ``most``; 0 means any number.

    Raises
    ------
    TooManyTriangles
    """
    found = sum(len(part.faces) for part in snapshot.parts)
    if most and found > most:
        heaviest = max(snapshot.parts, key=lambda part: len(part.faces))
        raise TooManyTriangles(snapshot.source or snapshot.name, found, most, heaviest.name)
