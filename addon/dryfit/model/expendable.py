"""Whether this process was started to be lost: a worker that is replaced when a damaged file takes it down.

Elsewhere files of foreign formats are read in a process of their own; a worker reads them itself.
"""

_marked: list[bool] = []


def mark_expendable() -> None:
    """Say that this process may be lost, and that whoever started it says what became of it."""
    _marked.append(True)


def is_expendable() -> bool:
    """Tell whether this process may be lost."""
    return bool(_marked)
