"""One float a vertex, as an attribute on a mesh, and which of a mesh's attributes are there to stay."""

import numpy as np

from ..model.arrays import FloatArray
from .blender import BlenderMesh

KNOWN = "known"
"""Ends the name of the attribute that says where the one beside it was measured."""
KEPT = "dryfit_attributes"
"""ID property of a mesh: the names of its attributes that were written to stay, with spaces between."""


def write_floats(mesh: BlenderMesh, name: str, values: FloatArray) -> None:
    """Write values ``(n,)`` as a float attribute on a mesh's points, in place of one of that name."""
    there = mesh.attributes.get(name)
    if there is not None and (there.data_type, there.domain) != ("FLOAT", "POINT"):
        mesh.attributes.remove(there)
        there = None
    attribute = there or mesh.attributes.new(name, "FLOAT", "POINT")
    attribute.data.foreach_set("value", np.ascontiguousarray(values, np.float32))


def write_known(mesh: BlenderMesh, name: str, known_name: str, values: FloatArray) -> None:
    """Write values and where they are known: not a number becomes 0, and 0 beside it."""
    known = np.isfinite(values)
    write_floats(mesh, name, np.where(known, values, 0.0))
    write_floats(mesh, known_name, known.astype(np.float64))


def kept_attributes(mesh: BlenderMesh) -> tuple[str, ...]:
    """Return the names of the attributes that were written to stay, in their order."""
    return tuple(str(mesh.get(KEPT) or "").split())


def keep_attributes(mesh: BlenderMesh, names: tuple[str, ...]) -> None:
    """Note that a mesh's attributes of these names, and no others, are there to stay."""
    if names:
        mesh[KEPT] = " ".join(names)
    elif KEPT in mesh:
        del mesh[KEPT]


def erase_kept(mesh: BlenderMesh) -> int:
    """Remove the attributes that were written to stay; return how many there were."""
    found = [name for name in kept_attributes(mesh) if name in mesh.attributes]
    for name in found:
        mesh.attributes.remove(mesh.attributes[name])
    keep_attributes(mesh, ())
    return len(found)
