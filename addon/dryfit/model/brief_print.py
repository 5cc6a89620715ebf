"""A hash of everything a brief states, so that a figure or a picture can say which brief it was held against."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from typing import Any

from .brief import Brief

LEFT_OUT = ("source", "exceptions", "notes", "show", "room")
"""Where it lies and what it calls the show changes nothing that is measured; exceptions stand in the report. What is
settled of the room changes the room alone."""


def brief_print(brief: Brief) -> str:
    """Return the SHA-256 of a brief's values, hex digits: the same values give the same one, wherever they stand."""
    kept = [entry.name for entry in fields(brief) if entry.name not in LEFT_OUT]
    values = {name: plain_values(getattr(brief, name)) for name in kept}
    return hashlib.sha256(json.dumps(values, sort_keys=True).encode()).hexdigest()


def plain_values(value: Any) -> Any:
    """Return a value as plain lists, numbers and words; whole numbers and decimals of one size are the same value."""
    if is_dataclass(value):
        return {entry.name: plain_values(getattr(value, entry.name)) for entry in fields(value)}
    if isinstance(value, Mapping):
        return {str(name): plain_values(inner) for name, inner in value.items()}
    if isinstance(value, str):
        return str(value)
    if isinstance(value, Sequence):
        return [plain_values(inner) for inner in value]
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value
