"""Turn a 3D viewport to a place, looking at the surface there."""

from collections.abc import Iterator
from typing import Any

import numpy as np
from mathutils import Matrix, Vector

from ..model.arrays import FloatArray
from ..scene.units import mm_per_unit

CLOSEST_MM = 40.0
"""The view shows at least this far around a place, so that one sees where on the face it is."""
ROOM = 2.2
"""How many times a finding's size the view shows around it."""


def frame_place(context: Any, at: FloatArray, outward: FloatArray, size: float) -> bool:
    """Turn the viewport to ``at`` (world, Blender units), looking against ``outward``; return whether one was found.

    Parameters
    ----------
    size
        Extent of what is to be seen, Blender units.
    """
    reach = max(size * ROOM, CLOSEST_MM / mm_per_unit(context.scene))
    turned = False
    for view in _views(context):
        if view.view_perspective == "CAMERA":
            view.view_perspective = "PERSP"
        view.view_location = Vector(at.tolist())
        view.view_distance = reach * 2.0
        if np.linalg.norm(outward) > 0.0:
            view.view_rotation = _looking_against(outward)
        turned = True
    return turned


def _views(context: Any) -> Iterator[Any]:
    """Yield the viewport in use, else the first one of the window."""
    space = context.space_data
    if space is not None and space.type == "VIEW_3D":
        yield space.region_3d
        return
    window = context.window or next(iter(context.window_manager.windows), None)
    areas = window.screen.areas if window else ()
    yield from [area.spaces.active.region_3d for area in areas if area.type == "VIEW_3D"][:1]


def _looking_against(outward: FloatArray) -> Any:
    """Return the view's rotation that looks against ``outward`` with the world's up kept up."""
    back = Vector(outward.tolist()).normalized()
    up = Vector((0.0, 0.0, 1.0))
    right = up.cross(back)
    if right.length < 0.05:
        right = Vector((1.0, 0.0, 0.0))
    right.normalize()
    axes = Matrix((right, back.cross(right), back)).transposed()
    return axes.to_quaternion()
