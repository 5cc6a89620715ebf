"""Notice that the scene changed: paint is drawn again, results are marked stale. Nothing is measured here."""

from typing import Any

import bpy

from .overlay import forget_drawings
from .painting import forget_values, surface_changed
from .posed_view import stop_playing


@bpy.app.handlers.persistent
def scene_changed(scene: Any, depsgraph: Any) -> None:
    """Note which pieces changed shape."""
    for update in depsgraph.updates:
        if update.is_updated_geometry and isinstance(update.id, bpy.types.Object):
            surface_changed(update.id.name)


@bpy.app.handlers.persistent
def file_changed(*_: Any) -> None:
    """Read everything from the file again, after undo, redo and opening."""
    forget_values()
    forget_drawings()


@bpy.app.handlers.persistent
def leaving(*_: Any) -> None:
    """Show what a playing motion hid, before the file is saved or another one is opened."""
    stop_playing()


HANDLERS = (
    ("save_pre", leaving),
    ("load_pre", leaving),
    ("depsgraph_update_post", scene_changed),
    ("undo_post", file_changed),
    ("redo_post", file_changed),
    ("load_post", file_changed),
)


def watch_changes() -> None:
    """Install the handlers, once."""
    stop_watching()
    for name, handler in HANDLERS:
        getattr(bpy.app.handlers, name).append(handler)


def stop_watching() -> None:
    """Remove the handlers, also ones left by an earlier load of this module."""
    for name, handler in HANDLERS:
        installed = getattr(bpy.app.handlers, name)
        for each in [one for one in installed if _same(one, handler)]:
            installed.remove(each)


def _same(one: Any, other: Any) -> bool:
    return bool(one.__module__ == other.__module__ and one.__qualname__ == other.__qualname__)
