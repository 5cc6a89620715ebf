"""The Python door: load, check, save. Importable without Blender."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .checks.runner import run_checks
from .model.admission import admit_part, admit_size
from .model.adopting import settled
from .model.brief import Brief
from .model.brief_reading import read_brief
from .model.errors import MissingRole, TooManyBases, UnreadableFile
from .model.file_content import require_digest
from .model.gate import holds_back
from .model.progress import drain
from .model.report import Report
from .model.snapshot import Role, Snapshot
from .model.snapshot_file import load_saved_snapshot, save_snapshot
from .performer.landmarks.proposal import Proposal
from .performer.landmarks.proposal import propose_landmarks as propose

if TYPE_CHECKING:
    from .batch.comparison import Comparison
    from .model.stamp import Stamp

__all__ = [
    "brief_for",
    "check",
    "compare",
    "lets_through",
    "load_base",
    "load_brief",
    "load_snapshot",
    "propose_landmarks",
    "read_stamp",
    "save_snapshot",
    "write_report",
]

BRIEF_NAME = "brief.toml"
BLENDER_READS = (".blend", ".obj", ".ply", ".stl", ".glb", ".gltf", ".fbx", ".usd", ".usda", ".usdc", ".usdz")
READS = (".npz", *BLENDER_READS)
"""Endings of the files that can be read."""


def load_brief(path: str | Path) -> Brief:
    """Read a brief; see ``dryfit.model.brief_reading.read_brief`` for what it raises."""
    return read_brief(path)


def brief_for(path: str | Path, given: str | Path | None = None) -> Brief:
    """Return the brief for a file: the one given, else ``brief.toml`` beside the file, else the defaults.

    Raises
    ------
    InputError
        When the brief cannot be read.
    """
    chosen = brief_path_for(path, given)
    return read_brief(chosen) if chosen else Brief()


def brief_path_for(path: str | Path, given: str | Path | None = None) -> Path | None:
    """Return the path of the brief for a file: the one given, else ``brief.toml`` beside the file, else None."""
    beside = Path(path).parent / BRIEF_NAME
    return Path(given) if given else (beside if beside.is_file() else None)


def load_snapshot(path: str | Path, brief: Brief | str | Path | None = None) -> Snapshot:
    """Read a design from a file.

    Parameters
    ----------
    path
        ``.npz`` (needs numpy only), ``.blend`` or a mesh file (both need the ``bpy`` module).
    brief
        A brief, its path, or None for the ``brief.toml`` beside the file, if there is one.

    Raises
    ------
    InputError
        When the file cannot be used; the message says what, where and what to do.
    """
    source = Path(path)
    if not source.is_file():
        raise UnreadableFile(str(path), "there is no such file")
    brief = brief if isinstance(brief, Brief) else brief_for(source, brief)
    suffix = source.suffix.lower()
    if suffix == ".npz":
        snapshot = _on_a_base(load_saved_snapshot(source), source, brief)
    elif suffix in BLENDER_READS:
        from .scene.reading import read_file

        snapshot = read_file(source, brief)
    else:
        known = ", ".join(READS)
        raise UnreadableFile(str(path), f"'{suffix}' is not a kind of file Dryfit reads ({known})")
    landmarks = brief.over_landmarks(snapshot.landmarks)
    return replace(snapshot, source=str(path), sha256=require_digest(source), landmarks=landmarks)


def _on_a_base(design: Snapshot, source: Path, brief: Brief) -> Snapshot:
    """Return a saved design as it is, or on the brief's base where it brings none."""
    if design.with_role(Role.BASE) or not brief.base.file:
        return design
    from .scene.reading import on_base

    return on_base(design, source, brief)


def load_base(path: str | Path, brief: Brief | str | Path | None = None) -> Snapshot:
    """Read the performer alone from a file: the base with eyes and teeth, and the landmarks it already has.

    Parameters
    ----------
    path
        A head scan by itself, or a design that holds its base.
    brief
        A brief, its path, or None for the ``brief.toml`` beside the file, if there is one.

    Raises
    ------
    InputError
        When the file cannot be used or holds no base.
    """
    source = Path(path)
    if not source.is_file():
        raise UnreadableFile(str(path), "there is no such file")
    brief = brief if isinstance(brief, Brief) else brief_for(source, brief)
    snapshot = _only_base(_saved_or_scene(source, brief), source)
    landmarks = brief.over_landmarks(snapshot.landmarks)
    admit_part(snapshot.base)
    admit_size(snapshot.base)
    return replace(snapshot, source=str(path), landmarks=landmarks)


def _saved_or_scene(source: Path, brief: Brief) -> Snapshot:
    if source.suffix.lower() == ".npz":
        return load_saved_snapshot(source)
    if source.suffix.lower() not in BLENDER_READS:
        raise UnreadableFile(str(source), f"no kind of file Dryfit reads ({', '.join(READS)})")
    from .scene.reading import read_performer

    return read_performer(source, brief)


def _only_base(snapshot: Snapshot, source: Path) -> Snapshot:
    """Return the snapshot with one base: the one marked so, else its only part."""
    if not snapshot.with_role(Role.BASE) and len(snapshot.parts) == 1:
        return replace(snapshot, parts=(replace(snapshot.parts[0], role=Role.BASE),))
    bases = [part.name for part in snapshot.with_role(Role.BASE)]
    if not bases:
        raise MissingRole("base", str(source))
    if len(bases) > 1:
        raise TooManyBases(bases, str(source))
    return snapshot


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


def check(snapshot: Snapshot, brief: Brief | str | Path | None = None, only: Sequence[str] | None = None) -> Report:
    """Measure a snapshot and return the report.

    Parameters
    ----------
    snapshot
        What ``load_snapshot`` returned, or one made from arrays.
    brief
        A brief, its path, or None for the figures that the design's own file states, else the defaults.
    only
        Ids of the checks to run; None means all.

    Raises
    ------
    InputError
        When the snapshot cannot be measured at all.
    UnknownCheck
        When ``only`` names no check.
    """
    chosen, noted = _settled(snapshot, brief)
    return drain(run_checks(noted, chosen, only))


def _settled(snapshot: Snapshot, brief: Brief | str | Path | None) -> tuple[Brief, Snapshot]:
    stated = brief if isinstance(brief, Brief) else read_brief(brief) if brief else Brief()
    return settled(stated, snapshot, explicit=brief is not None)


def lets_through(report: Report, fail_on: str = "fail") -> bool:
    """Tell whether a report lets its design through a gate, as the command line's exit code does.

    Parameters
    ----------
    report
        What was measured. A verdict of ``not_checked`` passes here as it does there: look at the checks' reasons.
    fail_on
        The mildest verdict that holds it back: ``review``, ``fail`` or ``never``.

    Raises
    ------
    ValueError
        When ``fail_on`` is none of the three.
    """
    try:
        return not holds_back(report.verdict, fail_on)
    except KeyError as error:
        raise ValueError(f"fail_on must be 'review', 'fail' or 'never'; it is {fail_on!r}") from error


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
        Without Jinja2, Pillow or matplotlib (``pip install 'dryfit[cli]'``); ``report.to_json()`` needs none of them.
    """
    from .report.writing import write_report as write

    chosen, noted = _settled(snapshot, brief)
    return drain(write(report, noted, chosen, folder, pictures=pictures))


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
