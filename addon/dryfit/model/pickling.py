"""Frozen values through pickle, for whoever hands them to another process: frozen again on the other side."""

import copyreg
from collections.abc import Callable
from dataclasses import fields
from types import MappingProxyType
from typing import Any, Self


def frozen_mapping(values: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    """Return a mapping that cannot be changed."""
    return MappingProxyType(values)


def freeze_mappings(value: object, *names: str) -> None:
    """Make some fields of a frozen dataclass mappings that cannot be changed."""
    for name in names:
        given = getattr(value, name)
        if not isinstance(given, MappingProxyType):
            object.__setattr__(value, name, MappingProxyType(dict(given)))


def _reduced(mapping: MappingProxyType[Any, Any]) -> tuple[Callable[..., Any], tuple[dict[Any, Any]]]:
    return frozen_mapping, (dict(mapping),)


copyreg.pickle(MappingProxyType, _reduced)  # Python itself knows no way to pickle one


class Refrozen:
    """A frozen dataclass that is made anew from its fields when it is unpickled, so that its arrays are read-only."""

    def __reduce__(self) -> tuple[type, tuple[Any, ...]]:
        """Return what makes it again."""
        return type(self), tuple(getattr(self, entry.name) for entry in fields(self))  # type: ignore[arg-type]

    def __copy__(self) -> Self:
        """Return another one of the same values: what cannot change is shared, not copied."""
        other = object.__new__(type(self))
        other.__dict__.update(self.__dict__)
        return other
