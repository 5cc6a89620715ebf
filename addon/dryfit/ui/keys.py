"""Keys for going through the findings in the 3D viewport."""

from typing import Any

import bpy

STEPS = (("PAGE_DOWN", 1), ("PAGE_UP", -1))
_added: list[tuple[Any, Any]] = []


def add_keys() -> None:
    """Give Alt Page Down and Alt Page Up to the next and the previous finding."""
    remove_keys()
    configured = bpy.context.window_manager.keyconfigs.addon
    if configured is None:
        return
    keymap = configured.keymaps.new(name="3D View", space_type="VIEW_3D")
    for key, step in STEPS:
        item = keymap.keymap_items.new("dryfit.step_finding", key, "PRESS", alt=True)
        item.properties.step = step
        _added.append((keymap, item))


def remove_keys() -> None:
    """Take the keys away again."""
    while _added:
        keymap, item = _added.pop()
        keymap.keymap_items.remove(item)
