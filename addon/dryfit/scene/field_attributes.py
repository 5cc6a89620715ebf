"""Everything that was measured, as float attributes that stay on the meshes for shaders, geometry nodes and scripts.

They are named as the passes of an EXR are: ``dryfit_clearance_mm`` holds the value, 0 where it was not measured, and
``dryfit_clearance_known`` is 1 where it was measured, else 0. Writing again replaces what an earlier run left. The
mesh's own ID property ``dryfit_attributes`` lists them.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..model.errors import InputError
from .blender import BlenderObject, BlenderScene, Depsgraph, blender
from .float_attributes import erase_kept, keep_attributes, kept_attributes, write_known
from .meshes import evaluated_mesh, topology
from .render_passes import PassField


class NothingToWrite(InputError):
    """No measured values, or none that fit the meshes in the scene."""

    def __init__(self, scene: str, left_out: Sequence[str]) -> None:
        why = f" ({'; '.join(left_out)})" if left_out else ""
        super().__init__(f"Scene '{scene}' holds no mesh that measured values fit{why}. Check the design first.")


@dataclass(frozen=True)
class AttributesWritten:
    """Piece -> the names of its attributes; what was left out, and what else is different in the file written."""

    names: Mapping[str, tuple[str, ...]]
    left_out: tuple[str, ...]
    notes: tuple[str, ...] = ()


def write_field_attributes(
    scene: BlenderScene, objects: Mapping[str, BlenderObject], fields: Sequence[PassField]
) -> AttributesWritten:
    """Write every field as two float attributes on its piece's own mesh.

    Parameters
    ----------
    scene
        Its meshes lose the attributes of an earlier run, whether or not they get new ones.
    objects
        Part -> its object.
    fields
        What was measured; nan where it was not.

    Raises
    ------
    NothingToWrite
        When no mesh can carry any of them; the earlier attributes are still there then.
    """
    depsgraph = blender().context.evaluated_depsgraph_get()
    misfits = [(each, misfit(each, objects.get(each.part), depsgraph)) for each in fields]
    carried, shared = _one_piece_a_mesh([each for each, why in misfits if not why], objects)
    left_out = [_left_out(each, why) for each, why in misfits if why] + shared
    if not carried:
        raise NothingToWrite(scene.name, left_out)
    erase_field_attributes(scene)
    names: dict[str, tuple[str, ...]] = {}
    for each in carried:
        mesh = objects[each.part].data
        write_known(mesh, each.pass_name, each.known_name, each.values)
        names[each.part] = (*names.get(each.part, ()), each.pass_name, each.known_name)
        keep_attributes(mesh, names[each.part])
    return AttributesWritten(names, tuple(left_out))


def erase_field_attributes(scene: BlenderScene) -> int:
    """Remove what ``write_field_attributes`` wrote on the scene's meshes; return how many attributes there were."""
    meshes = {item.data for item in scene.objects if item.type == "MESH" and item.data.library is None}
    return sum(erase_kept(mesh) for mesh in meshes if not mesh.is_editmode)


def has_field_attributes(scene: BlenderScene) -> bool:
    """Tell whether a mesh of the scene carries attributes of an earlier run."""
    return any(item.type == "MESH" and kept_attributes(item.data) for item in scene.objects)


def misfit(field: PassField, item: BlenderObject | None, depsgraph: Depsgraph) -> str:
    """Return why an object cannot carry a field, with what to do; ``""`` where it can."""
    if item is None:
        return "no such part in the scene"
    if item.type != "MESH":
        return "it is no mesh, and only meshes carry attributes; convert it"
    mesh = item.data
    if mesh.library is not None:
        return f"its mesh is linked from {mesh.library.name}; write them in that file"
    if item.mode != "OBJECT" or mesh.is_editmode:
        return "it is being edited; go to Object Mode first"
    with evaluated_mesh(item, depsgraph) as (_, shown):
        shows = topology(shown)
        if shows.vertices == len(field.values) and not topology(mesh).same_as(shows):
            return "modifiers rebuild it, so its own vertices are not those measured; apply them, or render passes"
    if len(field.values) != len(mesh.vertices):
        return f"{len(field.values)} values for {len(mesh.vertices)} vertices; it changed since it was measured"
    return ""


def _one_piece_a_mesh(
    fields: Sequence[PassField], objects: Mapping[str, BlenderObject]
) -> tuple[list[PassField], list[str]]:
    """Return the fields that are each alone on their mesh, and what that leaves out: two pieces may share one."""
    first: dict[str, str] = {}
    for each in fields:
        first.setdefault(objects[each.part].data.name, each.part)
    owner = [first[objects[each.part].data.name] for each in fields]
    why = "it shares its mesh with '{}', which carries its own; make it a single user"
    shared = [_left_out(each, why.format(part)) for each, part in zip(fields, owner, strict=True) if part != each.part]
    return [each for each, part in zip(fields, owner, strict=True) if part == each.part], shared


def _left_out(field: PassField, why: str) -> str:
    return f"{field.name} on '{field.part}': {why}"
