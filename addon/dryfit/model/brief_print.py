"""A hash of everything a brief states, so that a figure or a picture can say which brief it was held against."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from typing import Any

from .brief import Brief

LEFT_OUT = ("source", "exceptions")
"""Where a brief lies changes nothing that is measured; exceptions change what counts and stand in the report."""


def brief_print(brief: Brief) -> str:
    """Return the SHA-256 of a brief's values, hex digits: the same values give the same one, wherever they stand."""
    values = {entry.name: _plain(getattr(brief, entry.name)) for entry in fields(brief) if entry.name not in LEFT_OUT}
    return hashlib.sha256(json.dumps(values, sort_keys=True).encode()).hexdigest()


def _plain(value: Any) -> Any:
    """Return plain lists, numbers and words; whole numbers and decimals of one size are the same value."""
    if is_dataclass(value):
        return {entry.name: _plain(getattr(value, entry.name)) for entry in fields(value)}
    if isinstance(value, Mapping):
        return {str(name): _plain(inner) for name, inner in value.items()}
    if isinstance(value, str):
        return str(value)
    if isinstance(value, Sequence):
        return [_plain(inner) for inner in value]
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value
