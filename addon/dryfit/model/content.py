"""What a value is made of, as a digest: equal to the bit gives the same one, anything else another."""

import hashlib
import weakref
from collections.abc import Iterator, Mapping, Set
from contextlib import suppress
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import partial
from threading import Lock
from types import MappingProxyType
from typing import Any, Protocol, cast

import numpy as np
import numpy.typing as npt

from .arrays import is_frozen
from .withheld import is_withheld

PLAIN = (bool, int, float, str, bytes, Enum, np.generic, type(None))
"""What is told by its type and its own words."""
FIXED = (tuple, frozenset, MappingProxyType)
"""What holds the same for good."""


class HasContent(Protocol):
    """A value that tells its own content."""

    @property
    def content(self) -> bytes:
        """A digest of all that its answers depend on."""


class Contents:
    """Digests of values; what is frozen for good is read once.

    Plain values, arrays, enums, tuples, mappings, frozen dataclasses, and what tells its own ``content``. Safe to ask
    from several threads.
    """

    def __init__(self) -> None:
        self._lock = Lock()
        self._read: dict[int, tuple[weakref.ref[Any], bytes]] = {}

    def of(self, *values: object) -> bytes:
        """Return the digest of values, in their order.

        Raises
        ------
        TypeError
            When a value is of a kind whose content is not known.
        """
        digest = hashlib.sha256()
        for value in values:
            _add(digest, self._piece(value)[0])
        return digest.digest()

    def _piece(self, value: object) -> tuple[bytes, bool]:
        """Return what a value adds to a digest, and whether it is frozen for good with all that it is made of."""
        if isinstance(value, PLAIN):
            return f"{type(value).__name__} {value!r}".encode(), True
        if isinstance(value, np.ndarray):
            return self._of_array(value)
        if hasattr(type(value), "content"):  # asking the protocol itself takes fifty times as long
            return cast(HasContent, value).content, False
        known = self._known(value)
        return (known, True) if known is not None else self._of_many(value)

    def _of_many(self, value: object) -> tuple[bytes, bool]:
        digest = hashlib.sha256(type(value).__qualname__.encode())
        fixed = isinstance(value, FIXED) or _is_frozen(value)
        for inner in _inner(value):
            piece, inner_fixed = self._piece(inner)
            fixed = fixed and inner_fixed
            _add(digest, piece)
        if fixed and _is_frozen(value):
            self._remember(value, digest.digest())
        return digest.digest(), fixed

    def _of_array(self, array: npt.NDArray[Any]) -> tuple[bytes, bool]:
        if not is_frozen(array):
            return array_digest(array), False
        known = self._known(array)
        if known is None:
            known = array_digest(array)
            self._remember(array, known)
        return known, True

    def _known(self, value: object) -> bytes | None:
        with self._lock:
            kept = self._read.get(id(value))
        return kept[1] if kept is not None and kept[0]() is value else None

    def _remember(self, value: object, digest: bytes) -> None:
        with suppress(TypeError):  # what takes no weak reference is read each time
            entry = weakref.ref(value, partial(self._forget, id(value))), digest
            with self._lock:
                self._read[id(value)] = entry

    def _forget(self, key: int, _dead: object) -> None:
        # no lock: this runs wherever a value dies, also in a thread that holds it; an entry that is gone is no loss
        self._read.pop(key, None)


def _add(digest: "hashlib._Hash", piece: bytes) -> None:
    digest.update(len(piece).to_bytes(8, "little"))
    digest.update(piece)


def _is_frozen(value: object) -> bool:
    """Tell whether a value is of a frozen dataclass."""
    parameters = getattr(type(value), "__dataclass_params__", None)
    return parameters is not None and bool(parameters.frozen)


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
