"""Read the open design for the bench, without taking our own reading for a change of the sculpt."""

from typing import Any

from ..model.brief import Brief
from ..model.snapshot import Snapshot
from .reading import read_snapshot


def read_design_here(context: Any, brief: Brief) -> Snapshot:
    """Return the open design as a snapshot; posing it while reading does not mark results as stale.

    Raises
    ------
    InputError
        When the scene cannot be read.
    """
    bench = context.scene.dryfit
    stale = bench.stale
    try:
        return read_snapshot(context, brief)
    finally:
        context.view_layer.update()
        if bench.stale != stale:
            bench.stale = stale
