"""Let the pick change without selecting or framing anything, while a list is filled again."""

from collections.abc import Iterator
from contextlib import contextmanager

_held: list[str] = []


@contextmanager
def pick_quietly() -> Iterator[None]:
    """Let the pick change without selecting or framing anything."""
    _held.append("pick")
    try:
        yield
    finally:
        _held.pop()


def picks_quietly() -> bool:
    """Tell whether a change of the pick is to be followed by nothing."""
    return bool(_held)
