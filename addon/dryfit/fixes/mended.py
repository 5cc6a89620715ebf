"""What a fix hands back: where the vertices of one piece go, and words for what was done."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import FloatArray, frozen_points
from ..model.errors import DryfitError


class NothingToMend(DryfitError):
    """A fix finds nothing that it could change; the message says why and what to do."""


@dataclass(frozen=True)
class Mended:
    """New positions of one piece's vertices.

    Attributes
    ----------
    part
        Name of the piece.
    vertices_mm
        All its vertices, ``(n, 3)``, mm, world space.
    moved
        How many of them moved by more than a micrometre.
    largest_mm
        How far the one that moved most did.
    words
        One sentence for the user.
    """

    part: str
    vertices_mm: FloatArray
    moved: int
    largest_mm: float
    words: str

    def __post_init__(self) -> None:
        """Freeze the array."""
        object.__setattr__(self, "vertices_mm", frozen_points(self.vertices_mm))


def mended(part: str, before_mm: FloatArray, after_mm: FloatArray, verb: str) -> Mended:
    """Return the outcome of a fix that moved vertices ``(n, 3)`` from ``before_mm`` to ``after_mm``.

    Raises
    ------
    NothingToMend
        When nothing moved.
    """
    travel_mm = np.linalg.norm(after_mm - before_mm, axis=1)
    moved = int((travel_mm > 1e-3).sum())
    if not moved:
        raise NothingToMend(f"Nothing on {part} had to move: the piece may have changed since it was measured.")
    largest_mm = float(travel_mm.max())
    words = f"{verb} {moved} vertices of {part} by up to {largest_mm:.2f} mm"
    return Mended(part, after_mm, moved, largest_mm, words)
