"""What Dryfit draws in the 3D viewport: painted values, a legend, and the mark of the picked finding.

The draw callbacks stay installed while the extension is enabled and draw what the scene's bench asks for, so
that undo, redo and opening a file need no bookkeeping. What they keep between frames is only a cache.
"""

from typing import Any

import bpy

from .flat_shader import forget_solid_shader
from .landmarking.landmark_tags import draw_landmark_tags
from .legend import draw_legend
from .marks import draw_mark
from .painted import draw_painted, forget_painted
from .posed_view import draw_posed, draw_posed_label, forget_posed, posing_words
from .value_probe import draw_probe

_handles: list[tuple[Any, str]] = []


def install_overlay() -> None:
    """Start drawing."""
    remove_overlay()
    for callback, stage in ((_draw_in_space, "POST_VIEW"), (_draw_on_screen, "POST_PIXEL")):
        handle = bpy.types.SpaceView3D.draw_handler_add(callback, (), "WINDOW", stage)
        _handles.append((handle, "WINDOW"))


def remove_overlay() -> None:
    """Stop drawing and let go of everything cached."""
    while _handles:
        bpy.types.SpaceView3D.draw_handler_remove(*_handles.pop())
    forget_drawings()


def forget_drawings() -> None:
    """Drop cached drawings, so that they are made again from the file."""
    forget_painted()
    forget_posed()
    forget_solid_shader()


def drawing() -> int:
    """Return how many draw callbacks are installed."""
    return len(_handles)


def _shown(context: Any) -> bool:
    space = context.space_data
    return space is not None and space.type == "VIEW_3D" and space.overlay.show_overlays


def _draw_in_space() -> None:
    context = bpy.context
    if not _shown(context):
        return
    if posing_words(context.scene) is None:
        draw_painted(context)
    else:
        draw_posed(context)


def _draw_on_screen() -> None:
    context = bpy.context
    if not _shown(context):
        return
    if posing_words(context.scene) is None:
        draw_legend(context)
        draw_landmark_tags(context)
        draw_mark(context)
        draw_probe(context)
    else:
        draw_mark(context, figure=False)
        draw_posed_label(context)
