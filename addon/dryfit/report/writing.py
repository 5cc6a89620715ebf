"""Write one report's files: ``report.json``, ``report.html`` and ``heatmaps/*.png``."""

import importlib.util
import os
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from ..checks.check import Check
from ..checks.registry import CHECKS
from ..model.brief import Brief
from ..model.errors import DryfitError
from ..model.progress import Job, Progress, retold
from ..model.report import Report
from ..model.snapshot import Snapshot
from ..performer.fitting import Fitting
from .after import After, after_mends
from .closing_steps import is_step
from .labels import labelled
from .page import page_html
from .pictures.close_up import Following
from .pictures.gallery import photograph
from .pictures.moving import closing_gif
from .pictures.studio import Picture, Poser
from .schema import validate
from .whole_files import write_whole

PICTURES_GUESSED = 24
OWN_MARK, MARK_WITHIN = b"dryfit ", 2000
"""A picture that was made here says so near its start; in a GIF after its palette."""
LIBRARIES = {"jinja2": "Jinja2", "PIL": "Pillow"}
HEATMAPS = "heatmaps"
MOVING = "closure-closing.gif"


class MissingLibraries(DryfitError):
    """Libraries that the page or its pictures need are not installed."""

    def __init__(self, names: Sequence[str]) -> None:
        super().__init__(
            f"Writing a report needs {', '.join(names)}, which this Python does not have. "
            "Install with: pip install '.[cli]' in a clone of Dryfit. The figures themselves need none of it (--json)."
        )


def require_libraries(pictures: bool = True) -> None:
    """Raise where a report could not be written here; ask before measuring what it would say.

    Raises
    ------
    MissingLibraries
    """
    wanted = {name: said for name, said in LIBRARIES.items() if pictures or name != "PIL"}
    missing = [said for name, said in wanted.items() if importlib.util.find_spec(name) is None]
    if missing:
        raise MissingLibraries(missing)


def write_report(
    report: Report,
    snapshot: Snapshot,
    brief: Brief,
    out_dir: str | Path,
    *,
    checks: Sequence[Check] | None = None,
    posed: Poser | None = None,
    following: Following | None = None,
    pictures: bool = True,
    written: datetime | None = None,
) -> Job[tuple[Path, ...]]:
    """Write everything about one variant into a folder.

    Parameters
    ----------
    report
        What was measured.
    snapshot, brief
        What it was measured on and against.
    out_dir
        The folder; made when missing.
    checks
        The checks that were asked; the registry's when None.
    posed
        Gives vertices at (motion, t); worked out from snapshot and brief when None.
    following
        Gives some vertices at any t of a motion; cut out of what ``posed`` gives when only that is given.
    pictures
        False writes no pictures: quicker, and without Pillow.
    written
        The time to state on the page; now when None, or ``SOURCE_DATE_EPOCH`` where that is set.

    Yields
    ------
    Progress
        After each picture and each file.

    Returns
    -------
    tuple of Path
        The files written, ``report.json`` first.

    Raises
    ------
    InvalidReport
        When the report does not have the layout of its schema. Nothing is written.
    UnwritableOutput
        When the folder cannot be written. Nothing is left half written.
    MissingLibraries
        Without Jinja2 or Pillow. Nothing is written.
    """
    folder = Path(out_dir)
    checks = CHECKS if checks is None else checks
    require_libraries(pictures)
    validate(report.to_dict())
    taken: list[Picture] = []
    if pictures:
        if posed is None:
            fitting = Fitting(snapshot, brief)
            posed, following = fitting.posed_parts, fitting.following_parts
        for picture in photograph(report, snapshot, posed, labelled(report, checks), following, checks):
            taken.append(picture)
            yield Progress(len(taken), max(PICTURES_GUESSED, len(taken) + 2), f"picture: {picture.words}")
    after: tuple[After, ...] = ()
    if pictures:
        after = yield from _mended(report, snapshot, brief, checks, len(taken))
        taken += [each.picture for each in after]
    moving = closing_gif([picture.png for picture in taken if is_step(picture.name)])
    page = page_html(report, checks, taken, brief, written or stated_time(), moving, after)
    contents = {"report.json": report.to_json().encode(), "report.html": page.encode()}
    contents |= {f"{HEATMAPS}/{picture.name}.png": picture.png for picture in taken}
    contents |= {f"{HEATMAPS}/{MOVING}": moving} if moving else {}
    yield Progress(len(taken) + 1, len(taken) + 2, f"writing {folder}")
    files = write_whole(folder, contents)
    _clear_old_pictures(folder / HEATMAPS, {path.name for path in files})
    yield Progress(1, 1, "written")
    return tuple(files)


def _mended(
    report: Report, snapshot: Snapshot, brief: Brief, checks: Sequence[Check], taken: int
) -> Job[tuple[After, ...]]:
    """Return what the mends come to, telling how far they are among the pictures."""
    total = max(PICTURES_GUESSED, taken + 2)
    job = after_mends(report, snapshot, brief, checks)
    return retold(job, lambda step: Progress(taken, total, f"after the mend: {step.label}"))


def stated_time() -> datetime:
    """Return the time that is stated on a page: now, or ``SOURCE_DATE_EPOCH`` where that is set."""
    stated = os.environ.get("SOURCE_DATE_EPOCH", "")
    return datetime.fromtimestamp(int(stated), UTC) if stated.isdigit() else datetime.now(UTC)


def _clear_old_pictures(folder: Path, current: set[str]) -> None:
    """Remove pictures of an earlier report: only files that carry Dryfit's own mark."""
    for path in sorted((*folder.glob("*.png"), *folder.glob(MOVING))):
        if path.name not in current and OWN_MARK in path.read_bytes()[:MARK_WITHIN]:
            path.unlink(missing_ok=True)
