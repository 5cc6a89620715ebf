"""Picking a finding paints the value it is about."""

from typing import Any

from .stored_report import stored_fields


def paint_its_value(bench: Any, finding: Any) -> None:
    """Paint what the finding's check measured, first of all on its own piece; paint that is off stays off."""
    offered = bench.bl_rna.properties["painted"].enum_items.keys()
    fields = [entry for entry in stored_fields(bench.id_data) if entry.check == finding.check]
    names = [entry.name for entry in sorted(fields, key=lambda each: each.part != finding.part)]
    known = [name for name in names if name in offered]
    if bench.paint and known and bench.painted not in known:
        bench.painted = known[0]
