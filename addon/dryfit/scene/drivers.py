"""Drivers that stay still because they are Python and scripts are disabled."""

from collections.abc import Iterable, Iterator

from .blender import BlenderID, BlenderObject
from .posing import shape_keys_of


def script_driver_notes(objects: Iterable[BlenderObject]) -> Iterator[str]:
    """Tell which drivers of the objects need Python beyond a plain formula, which is refused."""
    for item in objects:
        for owner in (item, item.data, shape_keys_of(item)):
            for path in _script_paths(owner):
                yield (f"'{item.name}': the driver of {path} needs Python, which is disabled; it kept its last value.")


def _script_paths(owner: BlenderID) -> list[str]:
    data = getattr(owner, "animation_data", None)
    if data is None:
        return []
    return [
        curve.data_path
        for curve in data.drivers
        if curve.driver.type == "SCRIPTED" and not curve.driver.is_simple_expression
    ]
