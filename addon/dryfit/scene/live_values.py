"""Values measured while sculpting, newer than the stored ones; kept only while Live is on."""

from ..model.arrays import FloatArray

_live: dict[str, tuple[int, FloatArray]] = {}
_words: list[str] = [""]


def live_words() -> str:
    """Return what Live says now: what it measures, or why it stopped."""
    return _words[0]


def say_live(words: str) -> None:
    """Let Live say something else."""
    _words[0] = words


def live_values(name: str) -> tuple[int, FloatArray] | None:
    """Return a piece's live stamp and values ``(n,)``, or None."""
    return _live.get(name)


def keep_live_values(name: str, values: FloatArray) -> None:
    """Keep a piece's newest values."""
    before = _live.get(name)
    _live[name] = (before[0] + 1 if before else 1, values)


def forget_live_values() -> None:
    """Drop them all."""
    _live.clear()
