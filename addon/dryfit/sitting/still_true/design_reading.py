"""The open design with what it is made of, read in turns so that nobody waits for it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ...model.brief import Brief
from ...model.progress import Job
from ...model.snapshot import Snapshot
from ...scene.lending import ChangedMeanwhile
from ...scene.reading import snapshot_in_turns
from ...scene.staging import BUSY_MODES
from ..brief_beside import brief_beside
from ..freshness import prints_in_turns, prints_now
from ..open_design import read_open_snapshot

TURN_SECONDS = 0.02
"""A turn of reading takes so long, and what it was at when that was over; then the interface has its own."""


@dataclass(frozen=True)
class DesignRead:
    """A design as it is measured, the brief beside its file, and hashes of what it is made of."""

    snapshot: Snapshot
    brief: Brief
    prints: Mapping[str, str]


def read_design(context: Any, moving: bool = True) -> DesignRead:
    """Read the open design at once, its motions only where they are wanted.

    Raises
    ------
    InputError, OSError
        When the brief beside the file or the scene cannot be read.
    """
    return DesignRead(read_open_snapshot(context, moving), brief_beside(), prints_now(context))


def design_in_turns(context: Any, moving: bool = True) -> Job[DesignRead]:
    """Read the open design, a step after each turn; where it changes between two turns it is read again at once.

    A shape that a tool holds is read at once too: it must be taken from the hand for it.

    Raises
    ------
    InputError, OSError
        As ``read_design``.
    """
    if not is_held(context):
        design = yield from steady_design(context, moving)
        if design is not None:
            return design
    return read_design(context, moving)


def is_held(context: Any) -> bool:
    """Tell whether a tool holds a shape, so that reading it takes it out of the hand."""
    return any(item.mode in BUSY_MODES for item in context.scene.objects)


def steady_design(context: Any, moving: bool = True) -> Job[DesignRead | None]:
    """Read the open design, a step after each turn; None where it changed between two turns.

    Raises
    ------
    InputError, OSError
        As ``read_design``.
    """
    try:
        before = yield from prints_in_turns(context, TURN_SECONDS)
        brief = brief_beside()
        snapshot = yield from snapshot_in_turns(context, brief, turn_seconds=TURN_SECONDS, moving=moving)
        if before == (yield from prints_in_turns(context, TURN_SECONDS)):
            return DesignRead(snapshot, brief, before)
    except ChangedMeanwhile:
        pass
    return None
