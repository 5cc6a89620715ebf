"""Values through pickle that can hold nothing but values: reading them runs no code but that which makes these."""

import enum
import io
import pickle
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from functools import partial
from importlib import import_module
from types import MappingProxyType
from typing import Any

import numpy as np

from .pickling import frozen_mapping

PACKAGE = __package__.rpartition(".")[0]
"""The package's own name, which is another one inside Blender."""
PROTOCOL = 4
"""The last that gives arrays memory of their own, which can be frozen for good."""
TRUSTED = (np.ndarray, np.dtype, np.generic, MappingProxyType, partial, slice, set, frozenset)
"""What holds values and is not ours; numpy's dtypes and numbers have classes of their own."""
MAKERS = (frozen_mapping, np.zeros(1).__reduce__()[0], np.float64().__reduce__()[0])
"""The functions that make a mapping, an array, and one of numpy's numbers."""


class NotTrusted(Exception):
    """What was to be read is damaged, or names what no value is made of."""


def packed(value: object) -> bytes | None:
    """Return a value as bytes that ``unpacked_value`` takes; None for one that it does not take."""
    stream = io.BytesIO()
    try:
        _ValueWriter(stream, PROTOCOL).dump(value)
    except (pickle.PicklingError, AttributeError, TypeError, NotTrusted):
        return None
    return stream.getvalue()


def least_bytes(value: object) -> int:
    """Return how many bytes a value takes at the least when it is packed: those of its arrays, each once."""
    seen, todo, total = set(), [value], 0
    while todo:
        one = todo.pop()
        if id(one) in seen:
            continue
        seen.add(id(one))
        if isinstance(one, np.ndarray):
            total += one.nbytes
        elif isinstance(one, (tuple, list)):
            todo.extend(one)
        elif isinstance(one, Mapping):
            todo.extend(one.values())
        elif is_dataclass(one) and "__reduce__" not in vars(type(one)):
            todo.extend(vars(one).get(entry.name) for entry in fields(one))
    return total


def unpacked_value(body: bytes | memoryview) -> Any:
    """Return the value.

    Raises
    ------
    NotTrusted
        When it was damaged, or names what no value is made of.
    """
    try:
        return _ValueReader(io.BytesIO(body)).load()
    except NotTrusted:
        raise
    except Exception as error:  # a damaged one may fail in any way
        raise NotTrusted(str(error)) from error


class _ValueWriter(pickle.Pickler):
    def reducer_override(self, value: Any) -> Any:
        """Refuse what could not be read again; leave the rest to pickle."""
        if not _is_trusted(value if isinstance(value, type) else type(value)) and not _is_maker(value):
            raise NotTrusted(repr(type(value)))
        return NotImplemented


class _ValueReader(pickle.Unpickler):
    def find_class(self, module: str, name: str) -> Any:
        """Return a class of values, by name."""
        if module.partition(".")[0] not in ("numpy", "builtins", "functools") and not module.startswith(f"{PACKAGE}."):
            raise NotTrusted(module)
        found = getattr(import_module(module), name, None)
        if not (isinstance(found, type) and _is_trusted(found)) and not _is_maker(found):
            raise NotTrusted(f"{module}.{name}")
        return found


def _is_maker(value: object) -> bool:
    return any(value is maker for maker in MAKERS)


def _is_trusted(kind: type) -> bool:
    """Tell whether a class holds values alone: one of Python's or numpy's own, or of ours that says how it is made."""
    if issubclass(kind, TRUSTED):
        return True
    made_so = is_dataclass(kind) or issubclass(kind, (enum.Enum, tuple)) or "__reduce__" in vars(kind)
    return made_so and kind.__module__.startswith(f"{PACKAGE}.")
