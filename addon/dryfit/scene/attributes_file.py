"""A copy of a .blend on disk whose meshes carry what was measured; the file itself is not written."""

from dataclasses import replace
from pathlib import Path

from ..model.brief import Brief
from ..model.errors import InputError, UnreadableFile, UnwritableOutput
from ..model.report import Report
from .blender import blender
from .field_attributes import AttributesWritten, write_field_attributes
from .opening import files_to_open, open_blend_to_write
from .passes_file import BLEND, report_fields
from .roles import played_roles
from .saving import save_whole

ADVICE = "Name a place with room for it, where files can be written, with --blend."


class NotTheOriginal(InputError):
    """A copy that would replace the file that was measured, or that is no .blend."""

    def __init__(self, target: Path, why: str) -> None:
        super().__init__(f"{target}: {why}. Name another .blend file; the design itself is never written.")


def require_copy(source: Path, target: Path) -> None:
    """Raise unless one .blend can be written as a copy of another.

    Raises
    ------
    UnreadableFile
        When the source is no .blend.
    NotTheOriginal
        When the target is the source, or no .blend.
    """
    if source.suffix.lower() != BLEND:
        raise UnreadableFile(str(source), "values are written on the meshes of a .blend; this is no .blend")
    if target.suffix.lower() != BLEND:
        raise NotTheOriginal(target, "the copy is a .blend too")
    if target.resolve() == source.resolve() or (target.exists() and target.samefile(source)):
        raise NotTheOriginal(target, "this is the file that was measured")


def write_file_attributes(source: Path, target: Path, brief: Brief, report: Report) -> AttributesWritten:
    """Open a .blend, write a report's fields as attributes on its meshes, and save that as a copy.

    Parameters
    ----------
    source, target
        Two .blend files; the target appears whole or not at all. Paths inside it lead where they led.

    Raises
    ------
    UnreadableFile, NotTheOriginal, NothingToWrite, UnwritableOutput
    WritesWhenEvaluated
        When writing the copy would let the design write files of its own.
    """
    require_copy(source, target)
    with files_to_open(source):
        open_blend_to_write(source)
        scene = blender().context.scene
        objects = {each.name: each.object for each in played_roles(scene.objects, brief)}
        written = write_field_attributes(scene, objects, [*report_fields(report)])
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise UnwritableOutput(str(target), error.strerror or str(error), ADVICE) from error
        return replace(written, notes=save_whole(target, ADVICE))
