"""What a scene shows and nobody measured: a mesh without a role, hair, a volume."""

from dataclasses import dataclass

from .arrays import FloatArray, frozen_points
from .pickling import Refrozen


@dataclass(frozen=True)
class Unmeasured(Refrozen):
    """One thing that is seen and is no part.

    Attributes
    ----------
    name
        As the user knows it.
    kind
        What it is, in a word: ``mesh``, ``hair``.
    why
        Why it was not measured, and what to do, a clause.
    points_mm
        Places on it ``(k, 3)``, mm, world space, close enough together to tell how near the face it comes.
    """

    name: str
    kind: str
    why: str
    points_mm: FloatArray

    def __post_init__(self) -> None:
        """Freeze the array."""
        object.__setattr__(self, "points_mm", frozen_points(self.points_mm))
