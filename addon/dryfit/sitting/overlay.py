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
FLOOR = ("show_floor", "show_axis_x", "show_axis_y")
"""Blender's grid fills the depth of what lies behind it: paint and poses would have holes along its lines."""
FLOOR_SECONDS = 0.2
_floors: dict[tuple[str, int], dict[str, bool]] = {}
"""What the views showed of the floor before it was put away: by screen and number of the area."""


def install_overlay() -> None:
    """Start drawing."""
    remove_overlay()
    if not bpy.app.background:
        bpy.app.timers.register(settle_floors, persistent=True)
    for callback, stage in ((_draw_in_space, "POST_VIEW"), (_draw_on_screen, "POST_PIXEL")):
        handle = bpy.types.SpaceView3D.draw_handler_add(callback, (), "WINDOW", stage)
        _handles.append((handle, "WINDOW"))


def remove_overlay() -> None:
    """Stop drawing and let go of everything cached."""
    while _handles:
        bpy.types.SpaceView3D.draw_handler_remove(*_handles.pop())
    if bpy.app.timers.is_registered(settle_floors):
        bpy.app.timers.unregister(settle_floors)
    put_back_floors()
    forget_drawings()


def forget_drawings() -> None:
    """Drop cached drawings, so that they are made again from the file."""
    forget_painted()
    forget_posed()
    forget_solid_shader()


def settle_floors() -> float:
    """Put the floor's grid away in views that show paint or a pose, and back in the others; return when to look again.

    It is put away once: whoever shows it again meanwhile keeps it.
    """
    for window in bpy.context.window_manager.windows:
        scene = window.scene
        drawn = scene.dryfit.paint or posing_words(scene) is not None
        for number, area in enumerate(window.screen.areas):
            place = (window.screen.name, number)
            if area.type == "VIEW_3D" and drawn and place not in _floors:
                _floors[place] = {name: getattr(area.spaces.active.overlay, name) for name in FLOOR}
                _show_floor(area, dict.fromkeys(FLOOR, False))
            elif place in _floors and not drawn:
                _show_floor(area, _floors.pop(place))
    return FLOOR_SECONDS


def put_back_floors() -> None:
    """Show the floor wherever it was put away, before a file is saved or closed."""
    for (screen, number), shown in _floors.items():
        found = bpy.data.screens.get(screen)
        if found is not None and number < len(found.areas):
            _show_floor(found.areas[number], shown)
    _floors.clear()


def _show_floor(area: Any, shown: dict[str, bool]) -> None:
    if area.type == "VIEW_3D":
        for name, value in shown.items():
            setattr(area.spaces.active.overlay, name, value)
        area.tag_redraw()


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
