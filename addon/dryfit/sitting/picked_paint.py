"""Picking a finding paints the value it is about."""

from typing import Any

from .stored_report import stored_fields


def paint_its_value(bench: Any, finding: Any) -> None:
    """Paint what the finding's check measured, on its own piece where it has that; paint that is off stays off."""
    fields = [entry for entry in stored_fields(bench.id_data) if entry.check == finding.check]
    own = [entry for entry in fields if entry.part == finding.part]
    names = [entry.name for entry in own or fields]
    if bench.paint and names and bench.painted not in names:
        bench.painted = names[0]
