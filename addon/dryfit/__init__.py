"""Dryfit: a dry fit of a sculpted appliance before anyone pays for a mould.

>>> import dryfit
>>> snapshot = dryfit.load_snapshot("warden.npz")   # doctest: +SKIP
>>> report = dryfit.check(snapshot)                 # doctest: +SKIP
>>> report.verdict                                  # doctest: +SKIP
<Status.PASS: 'pass'>
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from .model.version import VERSION

if TYPE_CHECKING:
    from . import geometry
    from .api import (
        Cancelled,
        check,
        compare,
        lets_through,
        load_base,
        load_brief,
        load_snapshot,
        propose_landmarks,
        read_stamp,
        room,
        save_snapshot,
        write_report,
    )
    from .model.errors import DryfitError

__version__ = VERSION

__all__ = [
    "Cancelled",
    "DryfitError",
    "__version__",
    "check",
    "compare",
    "geometry",
    "lets_through",
    "load_base",
    "load_brief",
    "load_snapshot",
    "propose_landmarks",
    "read_stamp",
    "room",
    "save_snapshot",
    "write_report",
]


def __getattr__(name: str) -> Any:
    """Return a name of the library when it is first asked for.

    The command line listens for a stop before it imports anything heavy, and this package is imported before it.

    Raises
    ------
    AttributeError
        When the library has no such name.
    """
    if name == "geometry":
        return import_module(".geometry", __name__)
    if name not in __all__:
        raise AttributeError(f"module 'dryfit' has no attribute '{name}'")
    value = getattr(import_module(".model.errors" if name == "DryfitError" else ".api", __name__), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """Return the library's names, also those nobody asked for yet."""
    return sorted({*globals(), *__all__})


def register() -> None:
    """Add Dryfit to Blender. Blender calls this; nothing else here needs ``bpy``."""
    from .extension import register as add_to_blender

    add_to_blender()


def unregister() -> None:
    """Take Dryfit out of Blender again."""
    from .extension import unregister as remove_from_blender

    remove_from_blender()
