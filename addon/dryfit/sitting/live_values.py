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


_live: dict[str, LiveValues] = {}
_words: list[str] = [""]


def live_words() -> str:
    """Return what Live says now: what it measures, or why it stopped."""
    return _words[0]


def say_live(words: str) -> None:
    """Let Live say something else."""
    _words[0] = words


def live_values(name: str) -> LiveValues | None:
    """Return a piece's live values, or None."""
    return _live.get(name)


def live_names() -> tuple[str, ...]:
    """Return the names of the pieces that are followed."""
    return tuple(_live)


def keep_live_values(name: str, values: FloatArray, moved: IntArray | None = None) -> None:
    """Keep a piece's newest values ``(n,)`` and which of its vertices moved, ``(k,)``: all, where not given."""
    before = _live.get(name)
    if before is None or len(before.values) != len(values) or moved is None:
        _live[name] = LiveValues(before.stamp + 1 if before else 1, values, np.ones(len(values), bool))
        return
    before.undrawn[moved] = True
    before.stamp, before.values = before.stamp + 1, values


def rename_live_values(before: str, now: str) -> None:
    """Keep a renamed piece's values under its new name."""
    if before in _live:
        _live[now] = _live.pop(before)


def forget_live_values() -> None:
    """Drop them all."""
    _live.clear()
