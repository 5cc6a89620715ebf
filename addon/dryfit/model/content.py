"""What a value is made of, as a digest: equal to the bit gives the same one, anything else another."""

import hashlib
import weakref
from collections.abc import Iterator, Mapping, Set
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import partial
from threading import Lock
from typing import Any, Protocol, cast

import numpy as np
import numpy.typing as npt

from .withheld import is_withheld

PLAIN = (bool, int, float, str, bytes, Enum, np.generic, type(None))
"""What is told by its type and its own words."""


class HasContent(Protocol):
    """A value that tells its own content."""

    @property
    def content(self) -> bytes:
        """A digest of all that its answers depend on."""


class Contents:
    """Digests of values; an array that is frozen for good is read once.

    Plain values, arrays, enums, tuples, mappings, frozen dataclasses, and what tells its own ``content``. Safe to ask
    from several threads.
    """

    def __init__(self) -> None:
        self._lock = Lock()
        self._read: dict[int, tuple[weakref.ref[npt.NDArray[Any]], bytes]] = {}

    def of(self, *values: object) -> bytes:
        """Return the digest of values, in their order.

        Raises
        ------
        TypeError
            When a value is of a kind whose content is not known.
        """
        digest = hashlib.sha256()
        for value in values:
            for piece in self._pieces(value):
                digest.update(len(piece).to_bytes(8, "little"))
                digest.update(piece)
        return digest.digest()

    def _pieces(self, value: object) -> Iterator[bytes]:
        if isinstance(value, PLAIN):
            yield f"{type(value).__name__} {value!r}".encode()
        elif isinstance(value, np.ndarray):
            yield self._of_array(value)
        elif hasattr(type(value), "content"):  # asking the protocol itself takes fifty times as long
            yield cast(HasContent, value).content
        else:
            yield type(value).__qualname__.encode()
            for inner in _inner(value):
                yield from self._pieces(inner)
            yield b"end"

    def _of_array(self, array: npt.NDArray[Any]) -> bytes:
        if array.flags.writeable or array.base is not None:
            return array_digest(array)
        with self._lock:
            kept = self._read.get(id(array))
        if kept is not None and kept[0]() is array:
            return kept[1]
        digest = array_digest(array)
        with self._lock:
            self._read[id(array)] = weakref.ref(array, partial(self._forget, id(array))), digest
        return digest

    def _forget(self, key: int, _dead: object) -> None:
        # no lock: this runs wherever an array dies, also in a thread that holds it; an entry that is gone is no loss
        self._read.pop(key, None)


def array_digest(array: npt.NDArray[Any]) -> bytes:
    """Return the digest of an array's type, shape and values."""
    digest = hashlib.sha256(f"{array.dtype.str} {array.shape}".encode())
    digest.update(np.ascontiguousarray(array).data)
    return digest.digest()


def _inner(value: object) -> Iterator[object]:
    """Yield what a value is made of.

    Raises
    ------
    TypeError
        When that is not known.
    """
    if is_dataclass(value) and not isinstance(value, type):
        yield from (getattr(value, entry.name) for entry in fields(value) if not is_withheld(value, entry.name))
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            yield from (key, inner)
    elif isinstance(value, (tuple, list)):
        yield from value
    elif isinstance(value, Set):
        yield from sorted(value, key=repr)
    else:
        raise TypeError(f"the content of a {type(value).__name__} is not known")
