"""The Python door: load, check, save. Importable without Blender."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .checks.runner import chosen_checks, run_fitting
from .design import load_base, load_snapshot
from .model.brief import Brief
from .model.brief_file import brief_for
from .model.brief_reading import read_brief
from .model.errors import DryfitError
from .model.gate import FAIL_ON, holds_back, unanswered
from .model.kept_answers import SHARED_MB, KeptAnswers
from .model.progress import Progress, drain, retold
from .model.report import Report
from .model.snapshot import Snapshot
from .model.snapshot_file import save_snapshot
from .performer.indexed_bases import IndexedBases
from .performer.landmarks.proposal import Proposal
from .performer.landmarks.proposal import propose_landmarks as propose
from .performer.tried_on import Design, design_of

if TYPE_CHECKING:
    from .batch.comparison import Comparison
    from .model.stamp import Stamp
    from .rooms.room import Room

__all__ = [
    "Cancelled",
    "brief_for",
    "check",
    "compare",
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


KNOWN = IndexedBases(KeptAnswers(SHARED_MB))
"""This process's own: what was worked out on one design serves the next, as far as that is the same."""


def load_brief(path: str | Path) -> Brief:
    """Read a brief from a TOML file.

    Parameters
    ----------
    path
        The file.

    Raises
    ------
    InputError
        When it is not there, is not TOML, or states a key or value that means nothing; the message names the first.
    """
    return read_brief(path)


def propose_landmarks(snapshot: Snapshot) -> Proposal:
    """Propose every landmark on a snapshot's base, each with the error to reckon with; nothing is confirmed by it.

    Parameters
    ----------
    snapshot
        What ``load_base`` or ``load_snapshot`` returned.

    Raises
    ------
    NoFaceFound
        When no face is found on the base.
    """
    return drain(propose(snapshot))


class Cancelled(DryfitError):
    """Whoever asked for a check did not want its answer any more."""

    def __init__(self) -> None:
        super().__init__("The check was cancelled; nothing was written.")


def check(
    snapshot: Snapshot,
    brief: Brief | str | Path | None = None,
    only: Sequence[str] | None = None,
    progress: Callable[[Progress], object] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Report:
    """Measure a snapshot and return the report.

    Parameters
    ----------
    snapshot
        What ``load_snapshot`` returned, or one made from arrays.
    brief
        A brief, its path, or None for the figures that the design's own file states, else the defaults.
    only
        Ids of the checks to run; None means all.
    progress
        Called at each step with how far it is: ``done``, ``total``, ``fraction``, ``label``.
    cancelled
        Asked at each step; once it says True, nothing more is measured.

    Raises
    ------
    InputError
        When the snapshot cannot be measured at all.
    UnknownCheck
        When ``only`` names no check.
    Cancelled
        When ``cancelled`` said so.
    """
    chosen_checks(only)
    job = run_fitting(_design_of(snapshot, brief).fitting, only)
    return drain(retold(job, _watcher(progress, cancelled)))


def _watcher(
    progress: Callable[[Progress], object] | None, cancelled: Callable[[], bool] | None
) -> Callable[[Progress], Progress]:
    """Return what tells of each step, and ends the job that is not wanted any more."""

    def watch(step: Progress) -> Progress:
        if progress is not None:
            progress(step)
        if cancelled is not None and cancelled():
            raise Cancelled
        return step

    return watch


def room(snapshot: Snapshot, brief: Brief | str | Path | None = None) -> "Room":
    """Return how much may be added at each point of a snapshot's bare head, and what stops it.

    Parameters
    ----------
    snapshot
        What ``load_snapshot`` or ``load_base`` returned. What is worn in it counts for the weight that is left only;
        landmarks that are missing are proposed and marked as such.
    brief
        A brief, its path, or None for the figures that the design's own file states, else the defaults.

    Raises
    ------
    InputError
        When the snapshot cannot be measured at all.
    """
    from .rooms.bare import head_of
    from .rooms.room import measure_room

    head = drain(head_of(snapshot, _stated(brief), explicit=brief is not None))
    return drain(measure_room(head.fitting))


def _design_of(snapshot: Snapshot, brief: Brief | str | Path | None) -> Design:
    return design_of(snapshot, _stated(brief), explicit=brief is not None, bases=KNOWN)


def _stated(brief: Brief | str | Path | None) -> Brief:
    return brief if isinstance(brief, Brief) else read_brief(brief) if brief else Brief()


def lets_through(report: Report, fail_on: str = "fail", require: Sequence[str] = ()) -> bool:
    """Tell whether a report lets its design through a gate, as the command line's exit code does.

    Parameters
    ----------
    report
        What was measured.
    fail_on
        The mildest verdict that holds it back: ``not_checked``, ``review``, ``fail`` or ``never``. What could not be
        measured passes unless it is ``not_checked``.
    require
        Ids of checks that must have been answered.

    Raises
    ------
    ValueError
        When ``fail_on`` is none of the four.
    UnknownCheck
        When ``require`` names no check.
    """
    chosen_checks(require)
    try:
        held = holds_back(report.verdict, fail_on)
    except KeyError as error:
        words = ", ".join(map(repr, FAIL_ON))
        raise ValueError(f"fail_on must be one of {words}; it is {fail_on!r}") from error
    return not held and not unanswered({check.id: check.status for check in report.checks}, require)


def write_report(
    report: Report,
    snapshot: Snapshot,
    folder: str | Path,
    brief: Brief | str | Path | None = None,
    pictures: bool = True,
) -> tuple[Path, ...]:
    """Write ``report.json``, ``report.html`` and pictures into a folder and return the files.

    Parameters
    ----------
    report, snapshot, brief
        What was measured, and what ``check`` was given.
    folder
        Made when missing; each file appears whole or not at all.
    pictures
        False writes none: quicker.

    Raises
    ------
    UnwritableOutput
        When the folder cannot be written.
    MissingLibraries
        Without Jinja2 or Pillow (``pip install '.[cli]'`` in a clone); ``report.to_json()`` needs none of them.
    """
    from .report.writing import write_report as write

    design = _design_of(snapshot, brief)
    return drain(write(report, design.snapshot, design.brief, folder, pictures=pictures))


def compare(before: Report | str | Path, after: Report | str | Path) -> "Comparison":
    """Say what changed between two reports of a design: checks that flipped, figures beyond repeatability.

    Parameters
    ----------
    before, after
        Reports, or paths of ``report.json`` files or the folders they are in.

    Raises
    ------
    UnreadableFile
        When a path holds no report.
    """
    from .batch.comparison import compare as compared

    return compared(_report_values(before), _report_values(after))


def _report_values(report: Report | str | Path) -> dict[str, Any]:
    from .batch.revision import read_report

    return report.to_dict() if isinstance(report, Report) else read_report(Path(report))


def read_stamp(picture: str | Path) -> "Stamp | None":
    """Return what a PNG or EXR picture says of the design in it, or None where it carries no stamp.

    Raises
    ------
    UnreadableFile
        When it is neither, or damaged.
    """
    from .report.pictures.image_stamp import read_stamp as read

    return read(picture)
