"""Values measured while sculpting, newer than the stored ones; kept only while Live is on."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import BoolArray, FloatArray, IntArray


@dataclass
class LiveValues:
    """A piece's newest values.

    Attributes
    ----------
    stamp
        Changes whenever they do.
    values
        ``(n,)``.
    undrawn
        Vertices ``(n,)`` that moved since the piece was drawn last.
    """

    stamp: int
    values: FloatArray
    undrawn: BoolArray


CLEARANCE = "clearance"
"""What is followed unless another field is named."""
_live: dict[tuple[str, str], LiveValues] = {}
"""By the field and the piece."""
_words: list[str] = [""]


def live_words() -> str:
    """Return what Live says now: what it measures, or why it stopped."""
    return _words[0]


def say_live(words: str) -> None:
    """Let Live say something else."""
    _words[0] = words


def live_values(name: str, field: str = CLEARANCE) -> LiveValues | None:
    """Return a piece's live values, or None."""
    return _live.get((field, name))


def live_names(field: str = CLEARANCE) -> tuple[str, ...]:
    """Return the names of the pieces of which a field is followed."""
    return tuple(name for each, name in _live if each == field)


def keep_live_values(name: str, values: FloatArray, moved: IntArray | None = None, field: str = CLEARANCE) -> None:
    """Keep a piece's newest values ``(n,)`` and which of its vertices moved, ``(k,)``: all, where not given."""
    before = _live.get((field, name))
    if before is None or len(before.values) != len(values) or moved is None:
        _live[field, name] = LiveValues(before.stamp + 1 if before else 1, values, np.ones(len(values), bool))
        return
    before.undrawn[moved] = True
    before.stamp, before.values = before.stamp + 1, values


def rename_live_values(before: str, now: str) -> None:
    """Keep a renamed piece's values under its new name."""
    for field, name in [key for key in _live if key[1] == before]:
        _live[field, now] = _live.pop((field, name))


def forget_live_values() -> None:
    """Drop them all."""
    _live.clear()
