"""A finding as a row of the sidebar's list: a column for each field, filled from the stored JSON and read back."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import Field, fields
from functools import partial
from types import MappingProxyType
from typing import Any

import bpy
from bpy.props import BoolProperty, FloatProperty, FloatVectorProperty, IntProperty, PointerProperty, StringProperty

from ..model.arrays import IntArray
from ..model.finding import Finding, Place, Severity

PROPERTIES: Mapping[Any, Any] = MappingProxyType(
    {
        str: StringProperty,
        str | None: StringProperty,
        Severity: StringProperty,
        float: FloatProperty,
        tuple[float, float, float]: partial(FloatVectorProperty, size=3),
    }
)
"""A field's type -> the property that holds it."""
COLUMNS: Mapping[str, str] = MappingProxyType({"object": "part"})
"""Fields whose column is called otherwise: in a scene an object is Blender's own, and stands in ``subject``."""
PIECED = ("place", "elements")
"""Fields that are no column: the place's parts are, and the indices are kept beside the list."""


def _entries(kind: type[Finding] | type[Place]) -> "Iterator[Field[Any]]":
    return (entry for entry in fields(kind) if entry.name not in PIECED)


def finding_properties() -> dict[str, Any]:
    """Return a row's properties by name; ``name`` is the finding's id, ``count`` that of its elements."""
    return {
        "name": StringProperty(),
        "check": StringProperty(),
        "subject": PointerProperty(type=bpy.types.Object),
        "limited": BoolProperty(),
        "count": IntProperty(),
        **{_column(entry): PROPERTIES[entry.type]() for kind in (Finding, Place) for entry in _entries(kind)},
    }


def _column(entry: "Field[Any]") -> str:
    return COLUMNS.get(entry.name, entry.name)


def fill_row(item: Any, check: str, entry: Mapping[str, Any], beside: Mapping[str, Any], subject: Any) -> None:
    """Fill a row from a finding as a report's JSON has it.

    Parameters
    ----------
    item
        The row.
    check
        The check's id.
    entry
        The finding, in the layout of the JSON Schema.
    beside
        Fields of it that the JSON does not hold.
    subject
        The object that its part is, or None.
    """
    stated = {**entry, **(entry.get("pose") or {}), **entry["elements"], **beside}
    for kind in (Finding, Place):
        for each in _entries(kind):
            setattr(item, _column(each), _held(stated.get(each.name, each.default), each))
    item.name, item.check, item.subject = entry["id"], check, subject
    item.limited, item.count = entry["limit"] is not None, entry["elements"]["count"]


def _held(value: Any, entry: "Field[Any]") -> Any:
    """Return a value as a property holds it; what JSON has as null is zero or empty there."""
    if isinstance(value, list):
        return [number or 0.0 for number in value]
    return value or (0.0 if entry.type is float else "")


def finding_of_row(item: Any, elements: IntArray) -> Finding:
    """Return the finding that a row holds, with its elements' indices ``(k,)``."""
    own = {each.name: getattr(item, _column(each)) for each in _entries(Finding)}
    place = {each.name: getattr(item, _column(each)) for each in _entries(Place)}
    own["severity"], own["exception"] = Severity(item.severity), item.exception or None
    own["limit"] = item.limit if item.limited else math.nan
    return Finding(**own, place=Place(**(place | {"at_mm": tuple(item.at_mm)})), elements=elements)
