"""Dryfit: a dry fit of a sculpted appliance before anyone pays for a mould.

>>> import dryfit
>>> snapshot = dryfit.load_snapshot("warden.npz")   # doctest: +SKIP
>>> report = dryfit.check(snapshot)                 # doctest: +SKIP
>>> report.verdict                                  # doctest: +SKIP
<Status.PASS: 'pass'>
"""

from . import geometry
from .api import (
    check,
    compare,
    lets_through,
    load_base,
    load_brief,
    load_snapshot,
    propose_landmarks,
    read_stamp,
    save_snapshot,
    write_report,
)
from .model.errors import DryfitError
from .model.version import VERSION

__version__ = VERSION

__all__ = [
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
    "save_snapshot",
    "write_report",
]


def register() -> None:
    """Add Dryfit to Blender. Blender calls this; nothing else here needs ``bpy``."""
    from .extension import register as add_to_blender

    add_to_blender()


def unregister() -> None:
    """Take Dryfit out of Blender again."""
    from .extension import unregister as remove_from_blender

    remove_from_blender()
