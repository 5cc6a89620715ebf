"""Picking a finding paints the value it is about."""

from collections.abc import Sequence
from typing import Any

from .paintable import FOUND
from .stored_report import StoredField, stored_fields


def paint_its_value(bench: Any, finding: Any) -> None:
    """Paint what the finding's check measured, on its own piece where it has that, else where it was found.

    The first pick switches paint on; once somebody switched it off again, it stays off.
    """
    fields = [entry for entry in stored_fields(bench.id_data) if entry.check == finding.check]
    name = _value_of(finding, bench.painted, fields)
    if bench.painted != name:
        bench.painted = name
    if not bench.paint and not bench.was_painted:
        bench.paint = True


def _value_of(finding: Any, painted: str, fields: Sequence[StoredField]) -> str:
    """Return the name of the field a finding is about: of its own piece, its pose and its unit, as far as there is.

    Among those that are as good, the one that is painted already stays.
    """
    own = [entry for entry in fields if entry.part == finding.part] or list(fields)
    if not own:
        return FOUND
    return min(own, key=lambda entry: (*_apart(entry, finding), entry.name != painted)).name


def _apart(entry: StoredField, finding: Any) -> tuple[bool, bool]:
    return entry.motion != finding.motion, entry.unit != finding.unit
