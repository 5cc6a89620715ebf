"""One revision of a design as a comparison needs it: its report, and its surfaces where they can be had."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ..checks.runner import run_fitting
from ..design import READS, load_design
from ..geometry.errors import GeometryError
from ..model.brief import Brief
from ..model.errors import InputError, UnreadableFile
from ..model.file_content import require_digest
from ..model.progress import Job
from ..model.report import SCHEMA
from ..model.snapshot import Snapshot
from ..model.snapshot_file import load_saved_snapshot

REPORT_NAME = "report.json"
KEPT_NAME = "snapshot.npz"
"""A snapshot beside a report stands in for the design file."""


@dataclass(frozen=True)
class Revision:
    """One revision.

    Attributes
    ----------
    report
        Its report as plain values.
    snapshot
        Its surfaces, or None.
    brief
        What the surfaces were read with.
    without
        Why there are no surfaces, in words; ``""`` where there are.
    """

    report: Mapping[str, Any]
    snapshot: Snapshot | None = None
    brief: Brief = field(default_factory=Brief)
    without: str = ""

    @property
    def name(self) -> str:
        """The design's name."""
        return str(self.report["variant"]["name"])

    @property
    def sha256(self) -> str:
        """Hash of the design's file, or ``""``."""
        return str(self.report["variant"]["sha256"])


def read_revision(path: Path, brief: Path | None = None, only: tuple[str, ...] = ()) -> Job[Revision]:
    """Read a revision: a design is measured now, a report or its folder is taken as it was written.

    Parameters
    ----------
    path
        A design, a ``report.json`` or the folder it is in.
    brief
        A brief for designs; None takes the one beside the file.
    only
        Ids of the checks to run on a design; empty means all.

    Raises
    ------
    InputError
        When it can be read as neither.
    """
    if path.suffix.lower() in READS and not path.is_dir():
        return (yield from _measured(path, brief, only))
    return _stored(path, brief)


def _measured(path: Path, named: Path | None, only: tuple[str, ...]) -> Job[Revision]:
    design = load_design(path, named)
    report = yield from run_fitting(design.fitting, only or None)
    return Revision(report.to_dict(), design.snapshot, design.brief)


def _stored(path: Path, named: Path | None) -> Revision:
    report = read_report(path)
    folder = path if path.is_dir() else path.parent
    file, why = _file_of(report, folder)
    if file is None:
        return Revision(report, without=why)
    try:
        design = load_design(file, named or _brief_of(report), explicit=named is not None)
        return Revision(report, design.snapshot, design.brief)
    except (InputError, GeometryError, ImportError) as error:
        return Revision(report, without=f"its design cannot be read: {error}")


def read_report(path: Path) -> dict[str, Any]:
    """Read a ``report.json``, or the one in a folder.

    Raises
    ------
    UnreadableFile
        When it is no Dryfit report.
    """
    file = path / REPORT_NAME if path.is_dir() else path
    try:
        report: dict[str, Any] = json.loads(file.read_text(encoding="utf8"))
    except (OSError, ValueError) as error:
        raise UnreadableFile(str(file), f"it is neither a report nor a design ({error})") from error
    if not isinstance(report, dict) or report.get("schema") != SCHEMA:
        raise UnreadableFile(str(file), f"it is not a {SCHEMA} report")
    return report


def _brief_of(report: Mapping[str, Any]) -> Path | None:
    stated = str(report["inputs"].get("brief") or "")
    return Path(stated) if stated and Path(stated).is_file() else None


def _file_of(report: Mapping[str, Any], folder: Path) -> tuple[Path | None, str]:
    """Return the file that a report was made from, if it is still there as it was; else None and why not."""
    source, wanted = str(report["variant"]["source"]), str(report["variant"]["sha256"])
    there = [path for path in _candidates(source, folder) if path.is_file()]
    for path in there:
        if wanted and require_digest(path) == wanted:
            return path, ""
    kept = folder / KEPT_NAME
    if wanted and kept.is_file() and load_saved_snapshot(kept).sha256 == wanted:
        return kept, ""
    if not source:
        return None, "its report names no file"
    if there:
        return None, f"{there[0]} has changed since its report was written. Check it again, or compare the designs"
    return None, f"its design {source} is not there any more. Put it back, or compare the designs themselves"


def _candidates(source: str, folder: Path) -> Iterator[Path]:
    """Yield where a report's design may lie: as it was named, in the report's folder, or in one above it."""
    if source:
        name = Path(source.replace("\\", "/")).name
        yield from (Path(source), folder / name, folder.parent / name, folder.parent.parent / name)
