"""``blender -b FILE --command dryfit check ...``: the command line inside Blender."""

from collections.abc import Sequence
from typing import Any

import bpy

COMMAND = "dryfit"
_added: list[Any] = []


def run_command(argv: Sequence[str]) -> int:
    """Run the command line with Blender's remaining arguments and return its exit code."""
    from .cli import main
    from .model.interrupt import listen_for_stop

    listen_for_stop()
    try:
        return main(list(argv))
    except SystemExit as stop:
        return _exit_code(stop.code)


def add_command() -> None:
    """Make the command known to Blender."""
    _added.append(bpy.utils.register_cli_command(COMMAND, run_command))


def remove_command() -> None:
    """Forget the command."""
    while _added:
        bpy.utils.unregister_cli_command(_added.pop())


def _exit_code(code: object) -> int:
    """Return what a shell would see: argparse leaves with a number, None or words."""
    if code is None:
        return 0
    return code if isinstance(code, int) else 1
