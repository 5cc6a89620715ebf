"""Where an object stands, as far as that is stored with it and with what it hangs on."""

from collections.abc import Mapping
from typing import Any

from .animated_paths import animated_paths
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
    animated = animated_paths(item)
    own = [_transform(item, animated), stack_values("constraints", item.constraints, animated)]
    parent = item.parent
    if parent is None:
        return own
    hung = [item.parent_type, item.parent_bone, _rows(item.matrix_parent_inverse)]
    return [*own, *hung, counted.get(parent.session_uid) or place_values(parent, counted)]


def _transform(item: Any, animated: frozenset[str]) -> Any:
    """Return an object's own transform; what animation or drivers set of it is left out."""
    if not animated.intersection(OWN):
        return _rows(item.matrix_basis)
    return [[name, list(getattr(item, name))] for name in OWN if name not in animated]


def _rows(matrix: Any) -> list[list[float]]:
    return [list(row) for row in matrix]
