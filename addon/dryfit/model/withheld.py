"""Values with some of their fields withheld: whoever asks for one gets an error, so no answer can depend on it."""

from collections.abc import Collection
from dataclasses import fields
from functools import cache
from typing import Any, TypeVar

Value = TypeVar("Value")


class Withheld(Exception):
    """A field was asked for that must not matter there: a fault in Dryfit, told instead of a stale answer."""

    def __init__(self, kind: str, name: str) -> None:
        super().__init__(f"{name} of {kind} is withheld here: what was asked must not depend on it")


def withholding(value: Value, names: Collection[str]) -> Value:
    """Return a frozen dataclass's value with some of its fields withheld; its content does not tell of them either.

    Raises
    ------
    ValueError
        When it has no such field.
    """
    known = {entry.name for entry in fields(value)}  # type: ignore[arg-type]
    if not known.issuperset(names):
        raise ValueError(f"{type(value).__name__} has no {', '.join(sorted({*names} - known))}")
    kind = type(value)
    withheld = frozenset(names) | getattr(kind, "WITHHELD", frozenset())
    plain = kind.__mro__[1] if hasattr(kind, "WITHHELD") else kind
    other: Value = object.__new__(_withholding(plain, withheld))
    vars(other).update({name: each for name, each in vars(value).items() if name not in withheld})
    return other


def is_withheld(value: object, name: str) -> bool:
    """Tell whether one of a value's fields is withheld."""
    return name in getattr(type(value), "WITHHELD", ())


@cache
def _withholding(kind: type, names: frozenset[str]) -> type:
    def asked(self: object, name: str) -> Any:
        if name in names:
            raise Withheld(kind.__name__, name)
        return object.__getattribute__(self, name)

    return type(f"{kind.__name__}Withholding", (kind,), {"__getattribute__": asked, "WITHHELD": names})
