"""The report's figures as one file, without pages or pictures: needs no library, so it works in any Blender."""

from pathlib import Path

from ..model.report import Report
from .whole_files import write_whole

SUFFIX = ".json"


def is_json_file(path: str | Path) -> bool:
    """Tell whether a path names a JSON file rather than a folder."""
    return Path(path).suffix.lower() == SUFFIX and not Path(path).is_dir()


def write_json(report: Report, path: str | Path) -> Path:
    """Write a report's JSON to a file, whole or not at all, and return its path.

    Raises
    ------
    UnwritableOutput
        When it cannot be written. A file that was there before is untouched.
    """
    path = Path(path)
    return write_whole(path.parent, {path.name: report.to_json().encode()})[0]
