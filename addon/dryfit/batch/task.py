"""Measuring one variant, wherever that happens: in a process here or on a machine of a cluster."""

import hashlib
import json
import time
from dataclasses import dataclass
from pathlib import Path

from ..checks.runner import run_fitting
from ..design import load_design
from ..geometry.errors import GeometryError
from ..model.brief import Brief
from ..model.brief_reading import read_brief
from ..model.errors import DryfitError
from ..model.file_content import digests_beside, require_digest
from ..model.files_read import files_noted
from ..model.kept_answers import SHARED_MB, KeptAnswers
from ..model.progress import drain
from ..model.size_limit import MOST_TRIANGLES
from ..model.version import VERSION
from ..performer.indexed_bases import IndexedBases
from ..report.pictures.faults import NAME as FAULT
from ..report.schema import validate
from ..report.whole_files import write_whole
from ..report.writing import HEATMAPS, write_report
from .approved import ApprovedRevisions, Change, approved_digest, change_of
from .board_pictures import FOLDER as BOARD
from .board_pictures import write_board
from .comparison import UNKNOWN
from .peak_memory import peak_mb
from .revision import Revision
from .row import ROW_NAME, UNUSABLE, Row, row_of, stored_row
from .trespass import require_own_place, require_usable, shown_name
from .variant_files import base_file

BASES = IndexedBases(KeptAnswers(SHARED_MB))
APPROVED = ApprovedRevisions()
"""This process's own; a worker lives through many variants."""

NEVER_KEPT = ""
"""Key of a result whose inputs are not all known; no key is like it, so --resume redoes it."""


@dataclass(frozen=True)
class Task:
    """One variant to measure; plain strings and numbers, so that any queue can carry it.

    Attributes
    ----------
    file, brief
        Paths; ``brief`` is ``""`` for the defaults.
    out, folder
        The batch's output, and this variant's folder in it.
    only
        Ids of the checks to run; empty means all.
    resume
        Whether a stored result from the same inputs will do.
    pictures
        Whether to write the page with its plots and pictures beside ``report.json``.
    explicit
        Whether the user named the brief, so that it goes over figures that a variant's own file states.
    root
        The folder that a variant which is a link must not leave; ``""`` lets links lead anywhere.
    most_triangles
        A design with more is refused; 0 means any number.
    approved
        The design or report that was approved, which the variant is held against; ``""`` for none.
    """

    file: str
    brief: str
    out: str
    folder: str
    only: tuple[str, ...] = ()
    resume: bool = False
    pictures: bool = True
    explicit: bool = False
    root: str = ""
    most_triangles: int = MOST_TRIANGLES
    approved: str = ""

    @property
    def place(self) -> Path:
        """The folder of this variant's report."""
        return Path(self.out) / self.folder


def measure(task: Task) -> Row:
    """Measure one variant and write its report; a file that cannot be used gives a row that says so."""
    started = time.perf_counter()
    try:
        require_usable(Path(task.file), task.root)
        require_own_place(Path(task.out), task.place, HEATMAPS, BOARD)
        key = content_key(task)
        kept = stored_row(task.place, key, Path(task.file).parent) if task.resume else None
        row = kept or _measured(task, key, started)
    except (DryfitError, GeometryError) as error:
        row = unusable(task, str(error), time.perf_counter() - started)
    except OSError as error:
        row = unusable(task, f"{task.file}: cannot be read: {error.strerror or error}", time.perf_counter() - started)
    except MemoryError:
        row = unusable(task, "it needs more memory than a worker may use (see --memory-mb), or is damaged", 0.0)
    except Exception as fault:  # the one place where a night's work is held together, here and on a cluster
        row = unusable(task, f"a fault in Dryfit, please report it: {type(fault).__name__}: {fault}", 0.0)
    return row


def _measured(task: Task, key: str, started: float) -> Row:
    with files_noted() as noted:
        design = load_design(
            task.file, task.brief or Brief(), explicit=task.explicit, bases=BASES, most_triangles=task.most_triangles
        )
    file, fitting = Path(task.file), design.fitting
    read_from = digests_beside(file.parent, noted.paths)
    report = drain(run_fitting(fitting, task.only or None))
    if task.pictures:
        posed, following = fitting.posed_parts, fitting.following_parts
        drain(write_report(report, design.snapshot, design.brief, task.place, posed=posed, following=following))
        fault = task.place / HEATMAPS / f"{FAULT}1.png"
        drain(write_board(fitting, task.place, fault.read_bytes() if fault.is_file() else b""))
    else:
        validate(report.to_dict())
        write_whole(task.place, {"report.json": report.to_json().encode()})
    key = key if noted.all_known else NEVER_KEPT
    seconds = time.perf_counter() - started
    change = _change(task, Revision(report.to_dict(), design.snapshot, design.brief))
    row = row_of(report, design.snapshot.name, file.name, task.folder, key, seconds, peak_mb(), read_from, change)
    write_whole(task.place, {ROW_NAME: json.dumps(vars(row), ensure_ascii=False).encode()})
    return row


def _change(task: Task, variant: Revision) -> Change | None:
    if not task.approved:
        return None
    try:
        return change_of(APPROVED.revision(Path(task.approved), task.brief, task.only), variant)
    except (DryfitError, GeometryError) as error:
        return Change(UNKNOWN, f"Cannot be told: {error}")


def unusable(task: Task, reason: str, seconds: float) -> Row:
    """Return the row of a variant that gave no result."""
    name = shown_name(Path(task.file))
    return Row(Path(name).stem, name, "", "", UNUSABLE, reason=reason, seconds=round(seconds, 2))


def content_key(task: Task) -> str:
    """Return a hash of all that a result depends on and that is known before the design is read.

    That is: variant, brief, base file, checks and version. What the design draws on beside that stands in its row.

    Raises
    ------
    OSError
        When one of the files cannot be read.
    """
    base = base_file(read_brief(task.brief)) if task.brief else None
    files = [Path(task.file), *([Path(task.brief)] if task.brief else []), *([base] if base and base.is_file() else [])]
    approved = approved_digest(Path(task.approved)) if task.approved else ""
    inputs = [VERSION, task.only, task.pictures, task.explicit, approved, *map(require_digest, files)]
    return hashlib.sha256(json.dumps(inputs).encode()).hexdigest()
