"""Which file is a design's brief: the one that was named, else ``brief.toml`` beside the design."""

from pathlib import Path

from .brief import Brief
from .brief_reading import read_brief

BRIEF_NAME = "brief.toml"


def brief_path_in(folder: Path, named: str | Path | None = None) -> Path | None:
    """Return the path of the brief for the designs in a folder: the one named, else the folder's own, else None."""
    beside = folder / BRIEF_NAME
    return Path(named) if named else (beside if beside.is_file() else None)


def brief_path_for(design: str | Path, named: str | Path | None = None) -> Path | None:
    """Return the path of the brief for a design's file: the one named, else the one beside the file, else None."""
    return brief_path_in(Path(design).parent, named)


def brief_for(design: str | Path, named: str | Path | None = None) -> Brief:
    """Return the brief for a design's file: the one named, else the one beside the file, else the defaults.

    Raises
    ------
    InputError
        When the brief cannot be read.
    """
    chosen = brief_path_for(design, named)
    return read_brief(chosen) if chosen else Brief()
