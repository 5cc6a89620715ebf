"""Motions as the tables of a brief that state them, for files that keep motions of their own."""

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from .brief import BoneBrief, ExcursionBrief, HingeBrief, MotionBrief, PropertyBrief


def motion_tables(motions: Mapping[str, MotionBrief]) -> dict[str, dict[str, Any]]:
    """Return plain values that ``brief_reading.motions_from`` reads as these motions again."""
    return {name: motion_table(motion) for name, motion in motions.items()}


def motion_table(motion: MotionBrief) -> dict[str, Any]:
    """Return one motion as the content of its ``[motions.NAME]``; figures that are left as they come stay out."""
    if motion.hinge is not None:
        return {"hinge": _stated(motion.hinge)}
    if motion.excursion is not None:
        return {"excursion": _stated(motion.excursion)}
    if motion.bone is not None:
        return {"bone": _stated(motion.bone)}
    if motion.property is not None:
        return {"property": _stated(motion.property)}
    if motion.frames is not None:
        return {"frames": list(motion.frames)}
    return {"keys": {key: list(ends) for key, ends in motion.keys.items()}}


def _stated(made: HingeBrief | ExcursionBrief | BoneBrief | PropertyBrief) -> dict[str, Any]:
    values = {entry.name: getattr(made, entry.name) for entry in fields(made)}
    usual = {entry.name: entry.default for entry in fields(made)}
    return {name: _plain(value) for name, value in values.items() if value != usual[name]}


def _plain(value: Any) -> Any:
    if isinstance(value, str):
        return str(value)
    return list(value) if isinstance(value, tuple) else value
