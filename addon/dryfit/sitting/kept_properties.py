"""Give an object a plain ID property in such a way that saving keeps it, or say that it cannot be kept.

On a library override Blender keeps only properties that the linked object has too, and those only once they are
marked as overridable; anything else is silently gone after opening the file again.
"""

from typing import Any

LINKED = "it is linked: change it in its own file, or make it local"
NO_PROPERTY = "it overrides a linked object that has no such property: set it in that file, or make the piece local"


def keeping_refused(item: Any, name: str) -> str:
    """Return why a property of an object would not survive saving, or ``""``."""
    if item.library is not None:
        return LINKED
    override = item.override_library
    if override is not None and override.reference is not None and name not in override.reference:
        return NO_PROPERTY
    return ""


def keep_property(item: Any, name: str, value: str | bool) -> None:
    """Set a property that ``keeping_refused`` allows; ``""`` or False removes it, or empties it on an override."""
    if item.override_library is not None:
        item[name] = value
        item.property_overridable_library_set(f'["{name}"]', True)
    elif value:
        item[name] = value
    elif name in item:
        del item[name]
