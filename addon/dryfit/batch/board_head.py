"""What stands in the head of a board: whose show it is, which folder was measured, with which brief, and when."""

from dataclasses import dataclass, field
from pathlib import Path

from ..model.brief import Brief, ShowBrief


@dataclass(frozen=True)
class BoardHead:
    """The head of a board; ``""`` for what is not known.

    Attributes
    ----------
    show
        Whose designs these are.
    folder, brief
        Names of the folder that was measured and of the brief; no paths, which say nothing to whom a page is sent.
    date
        The day it was measured.
    approved
        Name of the file that was approved.
    """

    show: ShowBrief = field(default_factory=ShowBrief)
    folder: str = ""
    brief: str = ""
    date: str = ""
    approved: str = ""

    @property
    def lines(self) -> tuple[tuple[str, str], ...]:
        """What is known, each with its word."""
        named = (
            ("Show", self.show.title),
            ("Character", self.show.character),
            ("Performer", self.show.performer),
            ("Folder", self.folder),
            ("Brief", self.brief),
            ("Approved", self.approved),
            ("Measured", self.date),
        )
        return tuple((word, text) for word, text in named if text)


NO_HEAD = BoardHead()


def board_head(folder: Path, brief: Brief, approved: Path | None, date: str) -> BoardHead:
    """Return the head for a folder's board."""
    return BoardHead(
        show=brief.show,
        folder=folder.resolve().name,
        brief=Path(brief.source).name if brief.source else "none: every limit as it comes",
        date=date,
        approved=approved.name if approved else "",
    )
