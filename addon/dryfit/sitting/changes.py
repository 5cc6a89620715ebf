"""Notice that the scene changed: paint is drawn again, results are marked stale. Nothing is measured here."""

from collections.abc import Callable
from typing import Any, TypeVar

import bpy

from .freshness import compare_print, note_prints
from .live import stop_live
from .overlay import forget_drawings
from .painting import forget_values, surface_changed
from .posed_view import stop_playing

Handler = TypeVar("Handler", bound=Callable[..., None])


def persistent(handler: Handler) -> Handler:
    """Keep a handler when another file is opened."""
    kept: Handler = bpy.app.handlers.persistent(handler)
    return kept


@persistent
def scene_changed(scene: Any, depsgraph: Any) -> None:
    """Note which pieces changed shape or place."""
    for update in depsgraph.updates:
        if isinstance(update.id, bpy.types.Object) and _reshaped(update):
            item = update.id.original
            surface_changed(item.name)
            compare_print(scene, item, depsgraph)


def _reshaped(update: Any) -> bool:
    """Tell whether an object's shape or place may differ; a stroke in Sculpt Mode says only that its look does."""
    sculpted = update.is_updated_shading and update.id.mode == "SCULPT"
    return bool(update.is_updated_geometry or update.is_updated_transform or sculpted)


@persistent
def file_changed(*_: Any) -> None:
    """Read everything from the file again, after undo, redo and opening."""
    forget_values()
    forget_drawings()


@persistent
def leaving(*_: Any) -> None:
    """Show what a playing motion hid, before the file is saved or another one is opened."""
    stop_playing()


@persistent
def closing(*_: Any) -> None:
    """Stop following before another file is opened."""
    stop_playing()
    stop_live("")


def settle(context: Any) -> None:
    """Let Blender work off what we changed ourselves, and call the results fresh."""
    context.view_layer.update()
    note_prints(context.scene, context.evaluated_depsgraph_get())


HANDLERS = (
    ("save_pre", leaving),
    ("load_pre", closing),
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
