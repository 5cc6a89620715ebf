"""Each variant of a batch against the one that was approved: is it still that, and what changed first of all."""

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from threading import Lock

from ..checks.headline import topic
from ..model.errors import UnreadableFile
from ..model.file_content import require_digest
from ..model.progress import drain
from ..model.sentences import capital
from ..report.wording import with_unit
from .comparison import STILL, UNKNOWN, Comparison, compare_revisions
from .comparison_words import place_said
from .revision import REPORT_NAME, Revision, read_revision

MOST_FLIPS = 2
"""So many checks whose word changed are named in a row; the rest are counted."""


@dataclass(frozen=True)
class Change:
    """What a variant's row says of it against the approved one.

    Attributes
    ----------
    answer
        ``yes`` (it is still the approved one), ``no``, ``unknown``, or ``approved`` for that one itself.
    words
        One short text.
    most_mm
        The farthest that the two designs stand apart, mm; None where their shapes were not held against each other.
    """

    answer: str
    words: str
    most_mm: float | None = None


APPROVED = "approved"
ITSELF = Change(APPROVED, "This one was approved.", 0.0)


class ApprovedRevisions:
    """Keeps the approved revision that was read last: every variant of a batch is held against the same one.

    Safe to ask from several threads.
    """

    def __init__(self) -> None:
        self._lock = Lock()
        self._known: tuple[str, str, str, tuple[str, ...]] | None = None
        self._revision: Revision | None = None

    def revision(self, path: Path, brief: str, only: tuple[str, ...]) -> Revision:
        """Return the approved revision: a design is measured, a report or its folder is taken as it was written.

        Parameters
        ----------
        path, brief, only
            As for ``read_revision``; ``""`` for no brief.

        Raises
        ------
        InputError
            When it can be read as neither.
        """
        wanted = (os.path.realpath(path), approved_digest(path), brief, only)
        with self._lock:
            if self._revision is None or self._known != wanted:
                self._revision = drain(read_revision(path, Path(brief) if brief else None, only))
                self._known = wanted
            return self._revision


def approved_digest(path: Path) -> str:
    """Return the SHA-256 of an approved design or report; of a folder it is that of the report in it.

    Raises
    ------
    OSError
        When it cannot be read.
    """
    return require_digest(path / REPORT_NAME if path.is_dir() else path)


def require_approved(path: Path) -> None:
    """Refuse an approved design or report that is not there, before anything is measured.

    Raises
    ------
    UnreadableFile
        When it cannot be read.
    """
    try:
        approved_digest(path)
    except OSError as error:
        raise UnreadableFile(str(path), f"it was to be the approved one, and {error.strerror or error}") from error


def change_of(approved: Revision, variant: Revision) -> Change:
    """Return how a variant stands against the approved one.

    Two that cannot be held against each other are said to be so, and never called unchanged.

    Raises
    ------
    BadShape, NotFinite, NoSurface
        When a part makes no surface.
    """
    if approved.sha256 == variant.sha256 != "":
        return ITSELF
    comparison = drain(compare_revisions(approved, variant))
    most_mm = None if comparison.shape is None else round(comparison.shape.max_mm, 3)
    return Change(comparison.answer, _words(comparison), most_mm)


def _words(comparison: Comparison) -> str:
    if comparison.answer == STILL:
        shape = comparison.shape
        return "Unchanged" + (f" within {with_unit(max(shape.max_mm, 0.01), 'mm')}." if shape else ": the same file.")
    if comparison.answer == UNKNOWN:
        return f"Cannot be told: {comparison.without_shape or 'no figure moved, and there are no shapes to hold'}."
    return ". ".join(map(capital, _said(comparison))) + "."


def _said(comparison: Comparison) -> Iterator[str]:
    """Yield what changed: the base, the largest change of shape, pieces that came or went, then checks."""
    if not comparison.on_same_base:
        yield "it sits on another base"
    shape = comparison.shape
    if shape is not None and shape.max_mm > shape.within_mm and shape.places:
        yield place_said(shape.places[0])
    if shape is not None:
        for words, names in (("new", shape.added), ("gone", shape.lost)):
            if names:
                yield f"{words}: {', '.join(names)}"
    flips = [f"{topic(flip.check)}: {_word(flip.before)} to {_word(flip.after)}" for flip in comparison.flips]
    if flips:
        more = len(flips) - MOST_FLIPS
        yield "; ".join(flips[:MOST_FLIPS]) + (f" and {more} more" if more > 0 else "")
    elif comparison.moves and (shape is None or shape.max_mm <= shape.within_mm):
        yield f"{len(comparison.moves)} figures moved"


def _word(status: str) -> str:
    return status.replace("_", " ")
