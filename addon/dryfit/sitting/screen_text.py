"""Text and plates drawn over the viewport, sized by the user's interface scale."""

from typing import Any

import blf
import gpu
from gpu_extras.batch import batch_for_shader

FONT = 0
POINTS = 11.0
PAPER = (0.97, 0.96, 0.93, 1.0)
HEADS = ("HEADER", "TOOL_HEADER")
NAVIGATION_WIDTH, NAVIGATION_REACH = 36.0, 262.0
"""Pixels at scale 1 that Blender's buttons for turning the view take, and how far they hang down from the headers."""
INK = (0.08, 0.08, 0.09, 0.78)


def interface_scale(context: Any) -> float:
    """Return the user's interface scale."""
    return float(context.preferences.system.ui_scale)


def free_width(context: Any) -> float:
    """Return how much of the viewport's width, pixels, no sidebar covers."""
    sidebar = next((region.width for region in context.area.regions if region.type == "UI"), 0)
    covered = sidebar if context.preferences.system.use_region_overlap and sidebar > 1 else 0
    return float(context.region.width - covered)


def free_left(context: Any) -> float:
    """Return how much of the viewport's width, pixels, the toolbar covers at its left."""
    toolbar = next((region.width for region in context.area.regions if region.type == "TOOLS"), 0)
    return float(toolbar) if context.preferences.system.use_region_overlap and toolbar > 1 else 0.0


def beside_navigation(context: Any, top: float) -> float:
    """Return how much of the width that is free Blender's own buttons for turning the view take at its right, pixels.

    Parameters
    ----------
    top
        How far up something reaches that is to stand there; where the buttons end above it they take nothing.
    """
    space, seen = context.space_data, context.preferences.view
    if not (space.show_gizmo and space.show_gizmo_navigate and seen.show_navigate_ui):
        return 0.0
    scale = interface_scale(context)
    heads = sum(region.height for region in context.area.regions if region.type in HEADS and region.height > 1)
    lowest = context.region.height - heads - NAVIGATION_REACH * scale
    return NAVIGATION_WIDTH * scale if top > lowest else 0.0


def write(
    words: str, x: float, y: float, scale: float, colour: tuple[float, ...] = PAPER, points: float = POINTS
) -> None:
    """Write words with their lower left corner at a pixel."""
    blf.size(FONT, points * scale)
    blf.color(FONT, *colour)
    blf.position(FONT, x, y, 0.0)
    blf.draw(FONT, words)


def extent(words: str, scale: float, points: float = POINTS) -> tuple[float, float]:
    """Return width and height of words, pixels."""
    blf.size(FONT, points * scale)
    width, height = blf.dimensions(FONT, words)
    return float(width), float(height)


def folded(words: str, scale: float, room: float) -> list[str]:
    """Return words as lines that fit into a width, pixels; a single longer word stays whole."""
    lines, line = [], ""
    for word in words.split():
        longer = f"{line} {word}".strip()
        if line and extent(longer, scale)[0] > room:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line]


def plate(x: float, y: float, width: float, height: float, colour: tuple[float, ...] = INK) -> None:
    """Draw a filled rectangle."""
    corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
    shader = gpu.shader.from_builtin("UNIFORM_COLOR")
    batch = batch_for_shader(shader, "TRIS", {"pos": corners}, indices=((0, 1, 2), (0, 2, 3)))
    gpu.state.blend_set("ALPHA")
    shader.uniform_float("color", colour)
    batch.draw(shader)
    gpu.state.blend_set("NONE")


def strokes(points: list[tuple[float, ...]], colour: tuple[float, ...], width: float) -> None:
    """Draw line segments, two points each."""
    shader = gpu.shader.from_builtin("POLYLINE_UNIFORM_COLOR")
    batch = batch_for_shader(shader, "LINES", {"pos": [(*point, 0.0)[:3] for point in points]})
    gpu.state.blend_set("ALPHA")
    shader.uniform_float("viewportSize", gpu.state.viewport_get()[2:])
    shader.uniform_float("lineWidth", width)
    shader.uniform_float("color", colour)
    batch.draw(shader)
    gpu.state.blend_set("NONE")


def legend_corner(context: Any, scale: float, width: float, height: float = 0.0) -> tuple[float, float]:
    """Return the lower left corner that puts the legend at the lower right: beside an overlapping sidebar and buttons
    that hang down there, above the panel of the last operation where both would lie in one place."""
    shelf = sum(region.height for region in context.area.regions if region.type.startswith("ASSET_SHELF"))
    left, low = free_width(context) - width - 16.0 * scale, 16.0 * scale + (shelf if shelf > 2 else 0)
    last = next((region for region in context.area.regions if region.type == "HUD"), None)
    reach = last.x - context.region.x + last.width if last is not None and last.width > 1 else 0
    low += last.height + 8.0 * scale if last is not None and reach > left else 0.0
    return max(left - beside_navigation(context, low + height), min(left, free_left(context))), low
