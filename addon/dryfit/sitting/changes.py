"""Notice that the scene changed: paint is drawn again, what was measured is compared. Nothing is measured here."""

from collections.abc import Callable
from typing import Any, TypeVar

import bpy

from ..scene.staging import is_stage
from .base_drift import forget_drifts
from .freshness import (
    look,
    look_again_soon,
    look_soon,
    note_touched,
    start_looking,
    stop_looking,
    vouch_for_shapes,
)
from .live import stop_live
from .overlay import forget_drawings, put_back_floors
from .painting import forget_values, surface_changed
from .posed_view import stop_playing

Handler = TypeVar("Handler", bound=Callable[..., None])


def persistent(handler: Handler) -> Handler:
    """Keep a handler when another file is opened."""
    kept: Handler = bpy.app.handlers.persistent(handler)
    return kept


@persistent
def scene_changed(scene: Any, depsgraph: Any) -> None:
    """Note which objects changed shape or place; evaluating for a render, or to read, changes nothing of the design."""
    if depsgraph.mode == "RENDER" or is_stage(depsgraph.scene):
        return
    changed = [update for update in depsgraph.updates if isinstance(update.id, bpy.types.Object) and _reshaped(update)]
    for update in changed:
        surface_changed(update.id.original.name)
    note_touched([update.id.original for update in changed if not _only_moved(update)])
    if bpy.app.background:
        look(scene)


def _only_moved(update: Any) -> bool:
    return not update.is_updated_geometry and not update.is_updated_shading


def _reshaped(update: Any) -> bool:
    """Tell whether an object's shape or place may differ; a stroke in Sculpt Mode says only that its look does."""
    sculpted = update.is_updated_shading and update.id.mode == "SCULPT"
    return bool(update.is_updated_geometry or update.is_updated_transform or sculpted)


@persistent
def file_changed(*_: Any) -> None:
    """Read everything from the file again, after undo and redo."""
    forget_values()
    forget_drawings()
    look_again_soon()


@persistent
def file_opened(*_: Any) -> None:
    """Read everything from a file that was opened, and compare it with what was measured of it."""
    forget_values()
    forget_drawings()
    forget_drifts()
    _look_everywhere()


def _look_everywhere() -> None:
    for scene in bpy.data.scenes:
        look(scene, thoroughly=True)


@persistent
def leaving(*_: Any) -> None:
    """Show what a playing motion and paint hid, and let the file say how its results stand, before it is saved."""
    stop_playing()
    put_back_floors()
    _look_everywhere()


@persistent
def closing(*_: Any) -> None:
    """Stop following before another file is opened."""
    stop_playing()
    put_back_floors()
    stop_live("")


def settle(context: Any) -> None:
    """Let Blender work off what we changed ourselves after measuring: paint is no change of the sculpt."""
    context.view_layer.update()
    vouch_for_shapes(context.scene)
    look_soon()


HANDLERS = (
    ("save_pre", leaving),
    ("load_pre", closing),
    ("depsgraph_update_post", scene_changed),
    ("undo_post", file_changed),
    ("redo_post", file_changed),
    ("load_post", file_opened),
)


def watch_changes() -> None:
    """Install the handlers, once."""
    stop_watching()
    for name, handler in HANDLERS:
        getattr(bpy.app.handlers, name).append(handler)
    start_looking()


def stop_watching() -> None:
    """Remove the handlers, also ones left by an earlier load of this module."""
    stop_looking()
    for name, handler in HANDLERS:
        installed = getattr(bpy.app.handlers, name)
        for each in [one for one in installed if _same(one, handler)]:
            installed.remove(each)


def _same(one: Any, other: Any) -> bool:
    return bool(one.__module__ == other.__module__ and one.__qualname__ == other.__qualname__)
