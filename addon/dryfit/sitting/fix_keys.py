"""Write a fix as a new shape key of the piece: it can be dialled down or deleted, the sculpt below is untouched."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from mathutils.kdtree import KDTree

from ..model.arrays import FloatArray
from ..model.errors import InputError
from ..scene.units import mm_per_unit

PREFIX = "dryfit"
NEIGHBOURS = 4
"""Vertices of a subdivided piece whose movement is averaged for one of the mesh's own."""


class CannotMend(InputError):
    """A piece cannot take a shape key; the message says why and what to do."""


def require_mendable(item: Any | None, name: str) -> Any:
    """Return the object when it can take a new shape key.

    Raises
    ------
    CannotMend
    """
    if item is None:
        raise CannotMend(f"'{name}' is no longer in the scene; check again.")
    if item.type != "MESH":
        raise CannotMend(f"'{name}' is no mesh and cannot take shape keys; convert it to a mesh first.")
    if item.library is not None or item.data.library is not None or item.override_library is not None:
        raise CannotMend(f"'{name}' is linked from another file; make it local, or mend it there.")
    if any(each.type == "MULTIRES" and each.total_levels for each in item.modifiers):
        raise CannotMend(f"'{name}' has multiresolution levels, which shape keys cannot follow; apply them first.")
    return item


@dataclass(frozen=True)
class FixKey:
    """A fix on a piece, and what it takes to leave the piece as it was before.

    Attributes
    ----------
    piece, name
        The object's name and the shape key's.
    first
        Whether the piece had no shape keys before.
    pinned
        Whether the piece showed one of its keys alone.
    """

    piece: str
    name: str
    first: bool
    pinned: bool


def add_fix_key(scene: Any, item: Any, before_mm: FloatArray, after_mm: FloatArray, remedy: str) -> FixKey:
    """Add a shape key that moves the piece from ``before_mm`` to ``after_mm`` and return it.

    Parameters
    ----------
    before_mm, after_mm
        The evaluated piece's vertices ``(n, 3)``, mm, world space.

    Raises
    ------
    CannotMend
        When the mesh's shape keys are absolute.
    """
    keys, pinned = item.data.shape_keys, item.show_only_shape_key
    if keys is not None and not keys.use_relative:
        raise CannotMend(f"'{item.name}' has absolute shape keys; make them relative first.")
    moved = _local_movement(scene, item, before_mm, after_mm)
    if keys is None:
        item.shape_key_add(name="Basis", from_mix=False)
    key = item.shape_key_add(name=_free_name(item, remedy), from_mix=False)
    flat = np.empty(len(key.data) * 3, np.float32)
    item.data.shape_keys.reference_key.data.foreach_get("co", flat)
    key.data.foreach_set("co", flat + moved.astype(np.float32).ravel())
    key.value = 1.0
    item.show_only_shape_key = False
    item.data.update()
    return FixKey(item.name, key.name, keys is None, pinned)


def take_fix_back(scene: Any, fix: FixKey) -> None:
    """Leave the piece as it was before the fix; nothing happens where either is gone."""
    item = scene.objects.get(fix.piece)
    keys = item.data.shape_keys if item is not None else None
    if keys is None or fix.name not in keys.key_blocks:
        return
    item.shape_key_remove(keys.key_blocks[fix.name])
    if fix.first:
        item.shape_key_clear()
    item.show_only_shape_key = fix.pinned
    item.data.update()


def _free_name(item: Any, remedy: str) -> str:
    taken = {block.name for block in item.data.shape_keys.key_blocks}
    return next(name for number in range(1, len(taken) + 2) if (name := f"{PREFIX} {remedy} {number}") not in taken)


def _local_movement(scene: Any, item: Any, before_mm: FloatArray, after_mm: FloatArray) -> FloatArray:
    """Return how the mesh's own vertices move, ``(v, 3)``, in its own space."""
    matrix = np.array(item.matrix_world, dtype=np.float64)
    moved = (after_mm - before_mm) / mm_per_unit(scene) @ np.linalg.inv(matrix[:3, :3]).T
    count = len(item.data.vertices)
    if count == len(before_mm):
        return moved
    own = np.empty(count * 3, np.float32)
    item.data.vertices.foreach_get("co", own)
    evaluated = np.asarray(
        (before_mm / mm_per_unit(scene) - matrix[:3, 3]) @ np.linalg.inv(matrix[:3, :3]).T, np.float64
    )
    return _averaged(own.reshape(-1, 3), evaluated, moved)


def _averaged(own: Any, evaluated: FloatArray, moved: FloatArray) -> FloatArray:
    tree = KDTree(len(evaluated))
    for place, point in enumerate(evaluated.tolist()):
        tree.insert(point, place)
    tree.balance()
    answer = np.zeros((len(own), 3))
    for place, point in enumerate(own.tolist()):
        near = tree.find_n(point, NEIGHBOURS)
        weights = np.array([1.0 / (distance + 1e-9) for _, _, distance in near])
        answer[place] = weights @ moved[[index for _, index, _ in near]] / weights.sum()
    return answer
