"""A head ready to be asked for its room: with its own landmarks, and proposed ones, marked as such, where it lacks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..model.brief import Brief
from ..model.progress import Job, Progress
from ..model.snapshot import LANDMARKS, Snapshot
from ..performer.landmarks.proposal import NoFaceFound, propose_landmarks
from ..performer.tried_on import Design, design_of

WANTED = tuple(name for name in LANDMARKS if name not in ("vertex_top", "opisthocranion"))
"""Landmarks that a constraint rests on."""
PROPOSED = (
    "{count} landmarks were proposed and nobody confirmed them ({names}); each may be off by up to {off:.0f} mm, and "
    "the room with it. Place or confirm them (dryfit landmarks)."
)


def head_of(snapshot: Snapshot, brief: Brief, *, explicit: bool = False) -> Job[Design]:
    """Return a design whose head has all landmarks that can be had, with a note on those that nobody confirmed.

    Parameters
    ----------
    snapshot, brief
        As they were read.
    explicit
        Whether the brief goes over figures that the design's own file states.

    Yields
    ------
    Progress

    Raises
    ------
    InputError
        When the snapshot cannot be measured at all.
    """
    design = design_of(snapshot, brief, explicit=explicit, bare=True)
    marked = yield from _with_landmarks(design.snapshot)
    return design if marked is design.snapshot else design_of(marked, design.brief, explicit=True, bare=True)


def _with_landmarks(snapshot: Snapshot) -> Job[Snapshot]:
    """Return a snapshot with the landmarks that it lacks proposed."""
    missing = [name for name in WANTED if name not in snapshot.landmarks]
    unsure = dict(snapshot.proposed)
    if missing:
        yield Progress(0, 1, "proposing landmarks")
        try:
            proposal = yield from propose_landmarks(snapshot)
        except NoFaceFound as error:
            return replace(snapshot, notes=(*snapshot.notes, str(error)))
        found = {name: point for name, point in proposal.points_mm.items() if name not in snapshot.landmarks}
        unsure |= {name: proposal.bound_mm.get(name, np.inf) for name in found}
        snapshot = replace(snapshot, landmarks={**snapshot.landmarks, **found}, proposed=unsure)
    if not unsure:
        return snapshot
    off = max((error for error in unsure.values() if np.isfinite(error)), default=np.inf)
    note = PROPOSED.format(count=len(unsure), names=", ".join(sorted(unsure)), off=off)
    return replace(snapshot, notes=(*snapshot.notes, note))
