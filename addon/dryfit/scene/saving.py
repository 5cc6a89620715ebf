"""Save what is open as a .blend file that appears whole or not at all."""

import os
from pathlib import Path

from ..model.errors import UnwritableOutput
from .blender import blender
from .quiet import quiet_output


def save_whole(path: Path) -> None:
    """Write what is open to a .blend file, beside it first and then renamed; what is open stays what it is.

    Raises
    ------
    UnwritableOutput
        When it cannot be written; a file that was there is untouched.
    """
    beside = path.with_name(f".{path.stem}.{os.getpid()}.part.blend")
    try:
        with quiet_output():
            blender().ops.wm.save_as_mainfile(filepath=str(beside.resolve()), copy=True, check_existing=False)
        beside.replace(path)
    except (OSError, RuntimeError) as error:
        raise UnwritableOutput(str(path), str(error)) from error
    finally:
        beside.unlink(missing_ok=True)
