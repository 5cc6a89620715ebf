"""Ask Blender to draw its 3D viewports again."""

from typing import Any

import bpy


def redraw_views(_owner: Any = None, _context: Any = None) -> None:
    """Tag every 3D viewport of every window; also usable as a property's update."""
    for window in bpy.context.window_manager.windows:
        for area in window.screen.areas:
            if area.type == "VIEW_3D":
                area.tag_redraw()


def redraw_sidebars() -> None:
    """Tag the sidebars of the 3D viewports alone, which is cheap whatever the viewport shows."""
    for window in bpy.context.window_manager.windows:
        for area in window.screen.areas:
            for region in area.regions if area.type == "VIEW_3D" else ():
                if region.type == "UI":
                    region.tag_redraw()
