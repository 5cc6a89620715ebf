"""What a batch does not follow: links out of the variants' folder, links out of the output, names that are no text."""

import os
from pathlib import Path

from ..model.errors import InputError, UnreadableFile


class LinkOutside(InputError):
    """A variant that is a link to a file elsewhere."""

    def __init__(self, link: Path, target: str) -> None:
        super().__init__(
            f"{link}: it is a link that leads out of the folder, to {target}, and was not followed. "
            "Put the file itself into the folder, or pass --follow-links."
        )


class LinkToNothing(InputError):
    """A variant that is a link whose target is not there."""

    def __init__(self, link: Path, target: str) -> None:
        super().__init__(f"{link}: it is a link to {target}, which is not there. Copy the file into the folder.")


class NameIsNoText(InputError):
    """A file name in another encoding than the system's."""

    def __init__(self, name: str) -> None:
        super().__init__(f"{name}: the file's name is no valid text (UTF-8), so no report can state it. Rename it.")


class ReportElsewhere(InputError):
    """A report folder that is a link out of the output."""

    def __init__(self, place: Path, target: str) -> None:
        super().__init__(
            f"{place}: the report was not written: this is a link that leads out of the output, to {target}. "
            "Remove the link, or choose another folder with --out."
        )


def require_usable(file: Path, root: str) -> None:
    """Raise when a variant should not even be opened.

    Parameters
    ----------
    file
        The variant.
    root
        The folder that a link must not leave; ``""`` lets links lead anywhere.

    Raises
    ------
    NameIsNoText, LinkToNothing, LinkOutside, UnreadableFile
    OSError
        When the file is not there or may not be read.
    """
    if shown_name(file) != file.name:
        raise NameIsNoText(shown_name(file))
    target = os.path.realpath(file)
    if file.is_symlink() and not os.path.exists(target):  # noqa: PTH110
        raise LinkToNothing(file, target)
    if root and not Path(target).is_relative_to(os.path.realpath(root)):
        raise LinkOutside(file, target)
    if not file.stat().st_size:
        raise UnreadableFile(str(file), "the file is empty")


def require_own_place(out: Path, place: Path, *inner: str) -> None:
    """Raise when a report's folder, or one in it, is a link that leads out of the output.

    Raises
    ------
    ReportElsewhere
    """
    for folder in (place, *(place / name for name in inner)):
        target = os.path.realpath(folder)
        if not Path(target).is_relative_to(os.path.realpath(out)):
            raise ReportElsewhere(folder, target)


def shown_name(file: Path) -> str:
    """Return the file's name as text that any encoding of Unicode can hold."""
    return os.fsencode(file.name).decode("utf8", "replace")
