"""Place landmarks on the base: Empties that carry a landmark's name."""

from dataclasses import dataclass
from typing import Any

import bpy
from bpy_extras.view3d_utils import region_2d_to_origin_3d, region_2d_to_vector_3d

from ...model.snapshot import LANDMARKS
from ...scene.instances import with_instanced
from ...scene.landmarks import LANDMARK, PROPOSED
from ...scene.units import mm_per_unit
from ..brief_beside import brief_beside

SIZE_MM = 3.0
COLLECTION = "Landmarks"


@dataclass(frozen=True)
class Spot:
    """A point of the base under the cursor, world space, Blender units."""

    place: Any


def placed_landmarks(scene: Any) -> dict[str, Any]:
    """Return the objects of the scene that mark a known landmark, by its name."""
    return {item[LANDMARK]: item for item in scene.objects if item.get(LANDMARK) in LANDMARKS}


def stated_landmarks() -> frozenset[str]:
    """Return the names of the landmarks that the brief beside the file states; Empties of these do not count."""
    return frozenset(brief_beside(quiet=True).landmarks)


def missing_landmarks(scene: Any) -> list[str]:
    """Return the names of the landmarks that neither the brief nor an object states, in their order.

    Those within collections that the scene instances are there, and are changed there.
    """
    within = {item.get(LANDMARK) for item in with_instanced(scene.objects)}
    known = {*within, *stated_landmarks()}
    return [name for name in LANDMARKS if name not in known]


def spot_under(context: Any, base: Any, pixel: tuple[float, float]) -> Spot | None:
    """Return the point of the base under a pixel of the viewport, whatever lies over it, or None."""
    region, view = context.region, context.region_data
    origin = region_2d_to_origin_3d(region, view, pixel)
    direction = region_2d_to_vector_3d(region, view, pixel)
    into = base.matrix_world.inverted_safe()
    start = into @ origin
    toward = (into @ (origin + direction)) - start
    hit, place, _, _ = base.ray_cast(start, toward, depsgraph=context.evaluated_depsgraph_get())
    return Spot(base.matrix_world @ place) if hit else None


def place_landmark(scene: Any, name: str, spot: Spot) -> Any:
    """Mark a landmark there, moving its Empty if it has one, and return the Empty."""
    item = placed_landmarks(scene).get(name)
    if item is None:
        item = bpy.data.objects.new(name, None)
        item.empty_display_type = "SPHERE"
        item[LANDMARK] = name
        _collection(scene).objects.link(item)
    item.pop(PROPOSED, None)
    item.empty_display_size = SIZE_MM / mm_per_unit(scene)
    item.matrix_world.translation = spot.place
    if item.parent is None:
        item.location = spot.place
    return item


def remove_landmark(scene: Any, name: str) -> bool:
    """Remove a landmark's Empty; return whether there was one."""
    item = placed_landmarks(scene).get(name)
    if item is None:
        return False
    bpy.data.objects.remove(item)
    return True


def _collection(scene: Any) -> Any:
    for each in scene.collection.children:
        if each.name == COLLECTION and each.library is None:
            return each
    made = bpy.data.collections.new(COLLECTION)
    scene.collection.children.link(made)
    return made
