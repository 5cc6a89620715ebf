"""Whether this process was started to be lost: a worker that is replaced when a damaged file takes it down.

Elsewhere files of foreign formats are read in a process of their own; a worker reads them itself.
"""

import sys
from pathlib import Path

_marked: list[bool] = []


def mark_expendable() -> None:
    """Say that this process may be lost, and that whoever started it says what became of it."""
    _marked.append(True)


def is_expendable() -> bool:
    """Tell whether this process may be lost."""
    return bool(_marked)


def path_to_hand_on() -> list[str]:
    """Return where a process that is started may look for modules: where this one does.

    Blender's own scripts are left out: a process that imported ``bpy`` has them on its path, and the folder of that
    name among them would be found in place of the module. So is the folder that happens to be the current one.
    """
    places = [*sys.path, str(Path(__file__).resolve().parents[2])]
    return [place for place in dict.fromkeys(places) if place and not Path(place, "bpy", "ops.py").is_file()]
