"""The open scene as a design: read with the brief beside its file, and ready to be measured."""

from typing import Any

from ..model.adopting import adopt
from ..model.brief import Brief
from ..model.progress import drain
from ..model.snapshot import Snapshot
from ..performer.tried_on import Design, design_of
from ..scene.own_figures import stored_own_figures
from ..scene.reading import snapshot_in_turns
from .brief_beside import brief_beside


def read_open_design(context: Any) -> Design:
    """Read the open scene, ready to be measured as the command line measures its file.

    Raises
    ------
    InputError
        When the brief beside the file or the scene cannot be read, or the design cannot be measured.
    """
    return design_of(read_open_snapshot(context), brief_beside())


def read_open_snapshot(context: Any, moving: bool = True) -> Snapshot:
    """Read the open scene with the brief beside its file, whatever it lacks; motions only where they are wanted.

    Raises
    ------
    InputError
        When either cannot be read.
    """
    return drain(snapshot_in_turns(context, brief_beside(), moving=moving))


def scene_brief(scene: Any) -> Brief:
    """Return the brief beside the file, with the sidebar's figures in place of its own and the scene's own motions.

    It is the one of ``read_open_design``, without reading the meshes.

    Raises
    ------
    InputError
        When the brief beside the file, or what the file states over it, cannot be read.
    """
    return adopt(brief_beside(), stored_own_figures(scene), scene.name)
