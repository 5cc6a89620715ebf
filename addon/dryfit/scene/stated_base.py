"""A design that brings no base of its own, put on the base that the brief names."""

from pathlib import Path

from ..model.brief import Brief
from ..model.errors import UnreadableFile
from .base_file import base_path, combined
from .errors import BaseNotStated
from .kept_base import kept_base
from .scene_reading import SceneRead


def on_stated_base(read: SceneRead, path: Path, brief: Brief) -> SceneRead:
    """Return the design on the base of ``[base] file``, a path relative to the brief.

    Parameters
    ----------
    read
        The design without a base.
    path
        Its file.
    brief
        Names the base.

    Raises
    ------
    BaseNotStated
        When the brief names no base file.
    NoSuchObject, WhichBase
        When the base file does not tell which of its objects is the base.
    InputError
        When the base file cannot be read.
    """
    if not brief.base.file:
        raise BaseNotStated(str(path))
    file = base_path(path, brief)
    if not file.is_file():
        raise UnreadableFile(str(file), "the base named under [base] file is not there")
    base = kept_base(file, brief)
    both = combined(base.snapshot, read.snapshot)
    keys = (*read.keys, *base.keys)
    return SceneRead(both, tuple(sorted(set(keys))), {**base.motions, **read.motions}, {**read.faults, **base.faults})
