"""Open files in Blender: .blend files with their scripts disabled, mesh files into an empty scene."""

import gzip
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ..model.errors import UnreadableFile
from .blender import blender
from .errors import OpenFileAtRisk
from .quiet import quiet_output

BLEND = b"BLENDER"
ZSTD = b"\x28\xb5\x2f\xfd"
GZIP = b"\x1f\x8b"


@contextmanager
def files_to_open(path: Path) -> Iterator[None]:
    """Let files be opened in place of the current one, and leave an empty scene behind, also on error.

    What was read is arrays by then. Closing the file frees its memory for the checks, and spares the 4.2 module a
    crash at exit, when it frees the formulas of drivers after Python is gone.

    Raises
    ------
    OpenFileAtRisk
        When a Blender window is open.
    BlenderMissing
    """
    _require_background(path)
    with quiet_output():
        try:
            yield
        finally:
            open_empty(path)


def open_blend(path: Path) -> None:
    """Open a .blend file in place of the current one, its scripts disabled.

    Raises
    ------
    UnreadableFile
        When it is no .blend file, is damaged, or a newer Blender wrote it.
    OpenFileAtRisk
        When a Blender window is open.
    BlenderMissing
    """
    bpy = blender()
    _require_background(path)
    require_blend_header(path)
    try:
        with quiet_output():
            answer = bpy.ops.wm.open_mainfile(
                filepath=str(path.resolve()), load_ui=False, use_scripts=False, display_file_selector=False
            )
    except RuntimeError as error:
        raise UnreadableFile(str(path), one_line(error)) from error
    if answer != {"FINISHED"}:
        raise UnreadableFile(str(path), "Blender did not open it; the file may be damaged")


def open_empty(path: Path) -> None:
    """Start an empty scene in metres for the mesh file at ``path``.

    Raises
    ------
    OpenFileAtRisk, BlenderMissing
    """
    bpy = blender()
    _require_background(path)
    with quiet_output():
        bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)


def require_blend_header(path: Path) -> None:
    """Raise when the file does not begin as a .blend file does, plain or compressed.

    Raises
    ------
    UnreadableFile
    """
    try:
        with path.open("rb") as stream:
            begin = stream.read(len(BLEND))
        if begin.startswith(GZIP):
            with gzip.open(path) as stream:
                begin = stream.read(len(BLEND))
    except (OSError, EOFError) as error:
        raise UnreadableFile(str(path), str(error)) from error
    if not begin:
        raise UnreadableFile(str(path), "the file is empty")
    if begin != BLEND and not begin.startswith(ZSTD):
        raise UnreadableFile(str(path), "it is not a .blend file, whatever its name says")


def one_line(error: Exception) -> str:
    """Return Blender's own words on one line."""
    return " ".join(str(error).removeprefix("Error: ").split())


def _require_background(path: Path) -> None:
    if not blender().app.background:
        raise OpenFileAtRisk(str(path))
