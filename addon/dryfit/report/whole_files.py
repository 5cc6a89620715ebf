"""Files that appear whole or not at all: written beside, then renamed, all of them or none."""

from collections.abc import Iterable, Mapping
from pathlib import Path

from ..model.errors import UnwritableOutput
from ..model.part_files import part_beside, sweep_parts


def write_whole(folder: Path, contents: Mapping[str, bytes | Iterable[bytes]]) -> list[Path]:
    """Write files below a folder; where one cannot be written, none appears.

    Parameters
    ----------
    folder
        Made when missing.
    contents
        Path below the folder (with ``/``) -> the bytes, or pieces of them one after the other.

    Returns
    -------
    list of Path
        The files, in the order given.

    Raises
    ------
    UnwritableOutput
        When the folder or a file in it cannot be written. Files that were there before are untouched.
    """
    beside: list[tuple[Path, Path]] = []
    made: list[Path] = []
    sweep_parts((folder / name).parent for name in contents)
    try:
        for name, content in contents.items():
            target = folder / name
            made += _make_folder(target.parent)
            part = part_beside(target)
            beside.append((part, target))
            with part.open("wb") as stream:
                stream.writelines([content] if isinstance(content, bytes) else content)
        for _, target in beside:
            if target.is_dir():
                raise IsADirectoryError(f"'{target}' is a folder")
        for part, target in beside:
            part.replace(target)
    except OSError as error:
        _take_back(beside, made)
        raise UnwritableOutput(str(folder), error.strerror or str(error)) from error
    except BaseException:  # a stop, or a fault in what is written piece by piece
        _take_back(beside, made)
        raise
    return [target for _, target in beside]


def _make_folder(folder: Path) -> list[Path]:
    """Make a folder and those above it; return the ones that are new, outermost first."""
    missing = []
    place = folder
    while not place.exists():
        missing.append(place)
        place = place.parent
    folder.mkdir(parents=True, exist_ok=True)
    return missing[::-1]


def _take_back(beside: list[tuple[Path, Path]], made: list[Path]) -> None:
    for part, _ in beside:
        try:
            part.unlink(missing_ok=True)
        except OSError:
            continue
    for folder in reversed(made):
        try:
            folder.rmdir()
        except OSError:
            continue
