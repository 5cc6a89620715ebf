"""Where an object stands, as far as that is stored with it and with what it hangs on."""

from collections.abc import Mapping
from typing import Any

from .animated_paths import Component, animated_components, animated_paths
from .setting_values import stack_values

OWN = (
    "location", "rotation_euler", "rotation_quaternion", "rotation_axis_angle", "scale", "delta_location",
    "delta_rotation_euler", "delta_rotation_quaternion", "delta_scale",
)  # fmt: skip


def place_values(item: Any, counted: Mapping[int, str]) -> Any:
    """Return what places an object: its own transform, its constraints, and those of what it hangs on.

    Parameters
    ----------
    counted
        Blender's numbers for the objects whose place is told for themselves, and their names: the chain of parents
        ends at one of them.
    """
    constraints = stack_values("constraints", item.constraints, animated_paths(item))
    own = [own_transform(item, "", animated_components(item)), constraints]
    parent = item.parent
    if parent is None:
        return own
    hung = [item.parent_type, item.parent_bone, _rows(item.matrix_parent_inverse)]
    corners = [list(item.parent_vertices)] if item.parent_type.startswith("VERTEX") else []
    return [*own, *hung, *corners, counted.get(parent.session_uid) or place_values(parent, counted)]


def own_transform(owner: Any, path: str, animated: frozenset[Component]) -> Any:
    """Return the transform of an object or of a posed bone; the numbers that animation or drivers set are left out.

    Parameters
    ----------
    path
        What stands before the properties' names in ``animated``.
    """
    values = [[name, _free_numbers(owner, name, path + name, animated)] for name in OWN if hasattr(owner, name)]
    set_by_others = any(each is None for _, numbers in values for each in numbers)
    return values if set_by_others else _rows(owner.matrix_basis)


def _free_numbers(owner: Any, name: str, path: str, animated: frozenset[Component]) -> list[float | None]:
    numbers = enumerate(getattr(owner, name))
    return [None if (path, place) in animated else number for place, number in numbers]


def _rows(matrix: Any) -> list[list[float]]:
    return [list(row) for row in matrix]
