"""The values that the scene keeps, written on its meshes to stay."""

from collections.abc import Iterator

from ..scene.blender import BlenderScene
from ..scene.field_attributes import AttributesWritten, write_field_attributes
from ..scene.render_passes import PassField
from .painting import part_objects
from .stored_report import field_values, stored_fields


def write_stored_attributes(scene: BlenderScene) -> AttributesWritten:
    """Write the fields of the report that the scene keeps.

    Raises
    ------
    NothingToWrite
    """
    return write_field_attributes(scene, part_objects(scene), [*_stored(scene)])


def _stored(scene: BlenderScene) -> Iterator[PassField]:
    """Yield the fields that the scene keeps; of two of one name on one part, the first."""
    seen = set()
    for each in stored_fields(scene):
        if (each.name, each.part) not in seen:
            seen.add((each.name, each.part))
            yield PassField(each.name, each.part, each.unit, field_values(scene, each))
