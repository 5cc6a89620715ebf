"""Notice that the scene changed: paint is drawn again, results are marked stale. Nothing is measured here."""

from typing import Any

import bpy

from .live import stop_live
from .overlay import forget_drawings
from .painting import forget_values, surface_changed, was_expected
from .posed_view import stop_playing


@bpy.app.handlers.persistent
def scene_changed(scene: Any, depsgraph: Any) -> None:
    """Note which pieces changed shape."""
    for update in depsgraph.updates:
        if update.is_updated_geometry and isinstance(update.id, bpy.types.Object):
            _surface_updated(scene, update.id.original)


def _surface_updated(scene: Any, item: Any) -> None:
    surface_changed(item.name)
    if was_expected(item.name) or item.get("dryfit_role") in (None, ""):
        return
    bench = getattr(scene, "dryfit", None)
    if bench is not None and bench.verdict and not bench.stale:
        bench.stale = True


@bpy.app.handlers.persistent
def file_changed(*_: Any) -> None:
    """Read everything from the file again, after undo, redo and opening."""
    forget_values()
    forget_drawings()


@bpy.app.handlers.persistent
def leaving(*_: Any) -> None:
    """Show what a playing motion hid, before the file is saved or another one is opened."""
    stop_playing()


@bpy.app.handlers.persistent
def closing(*_: Any) -> None:
    """Stop following before another file is opened."""
    stop_playing()
    stop_live("")


def settle(context: Any) -> None:
    """Let Blender work off what we changed ourselves, and call the results fresh."""
    context.view_layer.update()
    context.scene.dryfit.stale = False


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
