"""Ask Blender to draw its 3D viewports again."""

from typing import Any

import bpy


def redraw_views(_owner: Any = None, _context: Any = None) -> None:
    """Tag every 3D viewport of every window; also usable as a property's update."""
    for window in bpy.context.window_manager.windows:
        for area in window.screen.areas:
            if area.type == "VIEW_3D":
                area.tag_redraw()


SETTLING_SECONDS = (0.0, 0.05, 0.15, 0.3, 0.5, 1.0)
"""When sidebars are drawn again after their panels changed height: Blender moves the panels below at the next redraw,
which therefore follows at once; words that were folded anew may take some more."""
_left: list[float] = []


def settle_sidebars() -> None:
    """Draw the sidebars until their panels lie where they belong, without waiting for the mouse."""
    if bpy.app.background:
        return
    _left[:] = SETTLING_SECONDS
    if not settling():
        bpy.app.timers.register(_settle, first_interval=_left.pop(0))


def settling() -> bool:
    """Tell whether sidebars are still to be drawn again."""
    return bool(bpy.app.timers.is_registered(_settle))


def _settle() -> float | None:
    redraw_sidebars()
    return _left.pop(0) if _left else None


def redraw_sidebars() -> None:
    """Tag the sidebars of the 3D viewports alone, which is cheap whatever the viewport shows."""
    for window in bpy.context.window_manager.windows:
        for area in window.screen.areas:
            for region in area.regions if area.type == "VIEW_3D" else ():
                if region.type == "UI":
                    region.tag_redraw()
