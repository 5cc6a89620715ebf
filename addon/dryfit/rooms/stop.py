"""What stops a form: one constraint's heights over the whole skin, and the check it is the inverse of."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from ..model.arrays import BoolArray, FloatArray, IntArray
from .skin import REACH_MM, Ground


@dataclass(frozen=True)
class Stop:
    """One constraint.

    Attributes
    ----------
    id
        Stable name, for instance ``sight_share``.
    check
        Id of the check it is the inverse of; ``""`` where a form stops by itself.
    words
        What stops, for a sentence: "stopped by sight upward".
    limit
        Name of the limit it takes, or ``""``.
    height_mm
        How high a form may stand at each vertex before this stops it, ``(n,)``; inf where it never does.
    unknown
        Where it cannot be told, ``(n,)``.
    why
        Why it cannot be told there and what to add, or ``""``.
    other
        The vertex on the other side that comes to meet it, ``(n,)``, -1 for none; empty where nothing comes.
    together
        Whether many places share what the check allows, so that no single one breaks it.
    """

    id: str
    check: str
    words: str
    limit: str
    height_mm: FloatArray
    unknown: BoolArray = field(default_factory=lambda: np.zeros(0, bool))
    why: str = ""
    other: IntArray = field(default_factory=lambda: np.zeros(0, np.int64))
    together: bool = False

    @property
    def binds(self) -> bool:
        """Whether it stops anything within reach."""
        return bool((self.height_mm < REACH_MM).any())


def nowhere(skin: Ground) -> FloatArray:
    """Return heights ``(n,)`` that stop nothing."""
    return np.full(len(skin.points_mm), np.inf)


def untold(id_: str, check: str, words: str, skin: Ground, why: str, where: BoolArray | None = None) -> Stop:
    """Return a constraint that cannot be told: everywhere, or where it could stop a form, ``(n,)``."""
    unknown = np.ones(len(skin.points_mm), bool) if where is None else where
    return Stop(id_, check, words, "", nowhere(skin), unknown, why)
