"""Name tags of the landmarks in the viewport: what each is, and how far a proposal may be off."""

from typing import Any

import numpy as np
from bpy_extras.view3d_utils import location_3d_to_region_2d

from ..screen_text import INK, PAPER, extent, free_width, interface_scale, plate, strokes, write
from ..words.landmark_words import landmark_word
from .landmark_placing import placed_landmarks
from .landmark_proposing import unconfirmed_landmarks

AWAY, STEP, EDGE = 16.0, 17.0, 6.0
"""Pixels at scale 1: from a landmark to its tag, from one line of tags to the next, and free round a tag."""
POINTS = 10.0
FAR_MM = 100.0
"""An error from here on is none that anybody reckons with: nobody knows it."""
FACING = -0.2
"""A landmark on a side of the head that looks further away than this has no tag: it would be read through the head."""


def off_words(error_mm: float) -> str:
    """Return how far a proposed landmark may be off: ``may be off by 6 mm``."""
    return f"may be off by {max(round(error_mm), 1)} mm" if error_mm < FAR_MM else "nobody knows how far it is off"


def draw_landmark_tags(context: Any) -> None:
    """Write a tag beside each landmark that this view sees, where the bench asks for tags."""
    if not context.scene.dryfit.tags or context.region_data is None:
        return
    scale = interface_scale(context)
    taken: list[tuple[float, float, float]] = []
    waiting = unconfirmed_landmarks(context.scene)
    middle = _middle_x(context)
    for name, item in _from_below(context):
        if not item.visible_get(view_layer=context.view_layer) or _behind(context, item):
            continue
        pixel = location_3d_to_region_2d(context.region, context.region_data, item.matrix_world.translation)
        if pixel is None or not 0.0 < pixel.x < free_width(context) or not 0.0 < pixel.y < context.region.height:
            continue
        words = landmark_word(name)
        words = f"{words} · {max(round(waiting[name]), 1)} mm?" if waiting.get(name, np.inf) < FAR_MM else words
        _tag(context, words, pixel, scale, taken, middle)


def _middle_x(context: Any) -> float:
    """Return where the middle of all landmarks is across the viewport, pixels."""
    places = [item.matrix_world.translation for item in placed_landmarks(context.scene).values()]
    if not places:
        return 0.0
    pixel = location_3d_to_region_2d(context.region, context.region_data, sum(places, places[0] * 0.0) / len(places))
    return float(pixel.x) if pixel is not None else 0.0


def _from_below(context: Any) -> list[tuple[str, Any]]:
    """Return the landmarks by name, the lowest in the view first: a tag that gives way moves up."""
    up = context.region_data.view_rotation @ _axis(1)
    return sorted(placed_landmarks(context.scene).items(), key=lambda pair: pair[1].matrix_world.translation @ up)


def _behind(context: Any, item: Any) -> bool:
    """Tell whether a landmark is on the far side of all of them."""
    places = [each.matrix_world.translation for each in placed_landmarks(context.scene).values()]
    middle = sum(places, places[0] * 0.0) / len(places)
    away = item.matrix_world.translation - middle
    toward = context.region_data.view_rotation @ _axis(2)
    return bool(away.length and away.normalized() @ toward < FACING)


def _axis(place: int) -> Any:
    from mathutils import Vector

    return Vector([float(each == place) for each in range(3)])


def _tag(
    context: Any, words: str, pixel: Any, scale: float, taken: list[tuple[float, float, float]], middle: float
) -> None:
    """Write one tag, away from the middle of the face, moved up until it lies over no other."""
    width = extent(words, scale, POINTS)[0] + 2 * EDGE * scale
    room = free_width(context)
    right_of = pixel.x + AWAY * scale
    x = right_of if pixel.x > middle and right_of + width < room else pixel.x - AWAY * scale - width
    x, y, height = max(x, 0.0), pixel.y, STEP * scale
    while any(abs(y - other) < height and x < right and left < x + width for left, right, other in taken):
        y += height * 0.5
    taken.append((x, x + width, y))
    near = x if x > pixel.x else x + width
    strokes([(pixel.x, pixel.y), (near, y + height / 2 - 4.0 * scale)], PAPER, 1.2 * scale)
    plate(x, y - 4.0 * scale, width, height - 2.0 * scale, (*INK[:3], 0.85))
    write(words, x + EDGE * scale, y, scale, points=POINTS)
