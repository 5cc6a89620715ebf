"""Measured values of a .blend from disk as passes of an EXR; the file itself is not written."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from ..model.brief import Brief
from ..model.errors import UnreadableFile
from ..model.report import Report
from ..model.stamp import Stamp
from .blender import BlenderScene, blender
from .errors import ScriptedCamera
from .opening import files_to_open, open_blend
from .quiet import quiet_output
from .render_passes import PassesRendered, PassField, ShotSettings, render_passes

BLEND = ".blend"


@dataclass(frozen=True)
class PassesWanted:
    """Which passes of which file: ``names`` of fields (empty: all that were measured), ``frame`` None: the file's."""

    source: Path
    out: Path
    shot: ShotSettings
    names: tuple[str, ...] = ()
    frame: int | None = None


def report_fields(report: Report, names: tuple[str, ...] = ()) -> Iterator[PassField]:
    """Yield a report's fields as passes, those named or all; of two of one name on one part, the first."""
    seen = set()
    for check in report.checks:
        for each in check.fields:
            if (not names or each.name in names) and (each.name, each.part) not in seen:
                seen.add((each.name, each.part))
                yield PassField(each.name, each.part, each.unit, each.values)


def render_file_passes(wanted: PassesWanted, brief: Brief, report: Report, stamp: Stamp) -> PassesRendered:
    """Open a .blend, render a report's fields as passes, and close it without saving.

    Raises
    ------
    UnreadableFile
        When it is no .blend: other files have neither a camera nor a frame to render.
    ScriptedCamera
        When the camera is a program.
    NoCamera, NothingToRender, UnwritableOutput
    """
    if wanted.source.suffix.lower() != BLEND:
        raise UnreadableFile(str(wanted.source), "passes are rendered through a .blend's camera; this is no .blend")
    with files_to_open(wanted.source), quiet_output():
        programs = open_blend(wanted.source).cameras
        scene = blender().context.scene
        _require_plain_camera(scene, wanted.shot.camera, programs)
        if wanted.frame is not None:
            scene.frame_set(wanted.frame)
        return render_passes(scene, brief, [*report_fields(report, wanted.names)], wanted.out, wanted.shot, stamp)


def _require_plain_camera(scene: BlenderScene, named: str, programs: Sequence[str]) -> None:
    camera = scene.objects.get(named) if named else scene.camera
    if camera is not None and camera.name_full in programs:
        raise ScriptedCamera(camera.name)
