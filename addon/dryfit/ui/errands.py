"""Long jobs by name, with plain values to work on: run at once by scripts, beside the interface by the window."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from ..checks.runner import run_fitting
from ..fixes.mended import Mended
from ..fixes.remedies import remedied
from ..geometry.following import Following
from ..model.arrays import FloatArray
from ..model.brief import Brief, HingeBrief
from ..model.finding import Finding
from ..model.kept_answers import SHARED_MB, KeptAnswers
from ..model.progress import Job, Progress
from ..model.report import Report
from ..model.snapshot import Role, Snapshot
from ..performer.indexed_bases import IndexedBases
from ..performer.landmarks.proposal import Proposal, propose_landmarks
from ..performer.motion.base_motion import JAW
from ..performer.motion.poses import Poses
from ..performer.tried_on import Design, design_of
from ..report.room_values import room_values
from ..report.room_words import room_sentences
from ..rooms.bare import head_of
from ..rooms.room import Room, measure_room
from .refusals import LibraryMissing

KNOWN = IndexedBases(KeptAnswers(SHARED_MB))
"""This process's own: of a design that is measured again, only what changed since is worked out."""


@dataclass(frozen=True)
class Errand:
    """A job to run and what to run it on.

    Attributes
    ----------
    job, given
        Both can be handed to another process.
    here
        Whether the answer holds on to things that cannot leave this process.
    """

    job: Callable[..., Job[Any]]
    given: tuple[Any, ...]
    here: bool = False

    def started(self) -> Job[Any]:
        """Return the job, begun with what it works on."""
        return self.job(*self.given)


def check(snapshot: Snapshot, brief: Brief, only: Sequence[str] | None) -> Job[Report]:
    """Measure a design.

    Raises
    ------
    InputError
        When the design cannot be measured.
    """
    return (yield from run_fitting(design_of(snapshot, brief, bases=KNOWN).fitting, only))


def check_and_write(snapshot: Snapshot, brief: Brief, folder: Path) -> Job[Report]:
    """Measure a design and write its report into a folder.

    Raises
    ------
    InputError, UnwritableOutput
        When the design cannot be measured, or the folder not be written.
    LibraryMissing
        When the page's libraries cannot be imported.
    """
    from ..report.writing import write_report

    design = design_of(snapshot, brief, bases=KNOWN)
    report = yield from run_fitting(design.fitting)
    posed, following = design.fitting.posed_parts, design.fitting.following_parts
    try:
        yield from write_report(report, design.snapshot, design.brief, folder, posed=posed, following=following)
    except ImportError as error:
        raise LibraryMissing("The report's page", error) from error
    return report


def room(snapshot: Snapshot, brief: Brief) -> Job[tuple[Room, dict[str, Any], dict[str, list[str]]]]:
    """Measure what a design's bare head allows; return that, the same as JSON takes it, and in sentences.

    Raises
    ------
    InputError
        When the head cannot be measured.
    """
    design = yield from head_of(snapshot, brief)
    measured = yield from measure_room(design.fitting)
    values = room_values(measured, design.brief.limits, design.snapshot.sha256)
    return measured, values, room_sentences(measured)


def propose(snapshot: Snapshot) -> Job[Proposal]:
    """Propose the landmarks that nobody placed."""
    return (yield from propose_landmarks(snapshot))


def mend(snapshot: Snapshot, brief: Brief, finding: Finding, now: str) -> Job[tuple[Mended, FloatArray]]:
    """Mend a finding on the piece that has the name ``now``; return that and where its vertices were, mm, ``(n, 3)``.

    Raises
    ------
    NothingToMend, InputError
        When it cannot be mended, or the design not be measured.
    """
    yield Progress(0, 4, f"Indexing {now}")
    fitting = design_of(snapshot, brief, bases=KNOWN).fitting
    yield Progress(1, 4, f"Mending {now}")
    mended = remedied(fitting, finding, now)
    yield Progress(2, 4, f"Mended {now}")
    return mended, fitting.snapshot.part(mended.part).vertices_mm


def follow(snapshot: Snapshot, brief: Brief) -> Job[dict[str, Following]]:
    """Measure every appliance's clearance, to be followed from now on; by the pieces' names.

    Raises
    ------
    InputError
        When the design cannot be measured.
    """
    fitting = design_of(snapshot, brief).fitting
    pieces = fitting.snapshot.with_role(Role.APPLIANCE)
    tolerance_mm, followed = fitting.brief.limits.additive_tolerance_mm, {}
    for place, piece in enumerate(pieces):
        yield Progress(place, len(pieces), f"Clearance of {piece.name}")
        outer = np.flatnonzero(fitting.skin(piece).outer)
        followed[piece.name] = Following(fitting.base_surface, piece.vertices_mm, piece.faces, outer, tolerance_mm)
    return followed


@dataclass(frozen=True)
class Playable:
    """A motion that can be drawn at any pose.

    Attributes
    ----------
    motion
        Its name.
    snapshot
        The parts that it moves.
    poses
        Where they are.
    open_deg
        How far the jaw's hinge opens at its end; nan where it is made of something else.
    """

    motion: str
    snapshot: Snapshot
    poses: Poses
    open_deg: float


def play(snapshot: Snapshot, brief: Brief, motion: str) -> Job[Playable]:
    """Find out what carries each part through a motion, so that every pose can be drawn at once.

    Raises
    ------
    NoMotion, InputError
        When there is no such motion, or the design cannot be measured.
    """
    parts = snapshot.parts
    yield Progress(0, len(parts) + 1, f"Motion {motion.replace('_', ' ')}")
    design = design_of(snapshot, brief)
    poses = design.fitting.poses(motion)
    for place, part in enumerate(parts, 1):
        yield Progress(place, len(parts) + 1, f"What carries {part.name}")
        poses.vertices(part.name, 0.0)
    return Playable(motion, design.snapshot, poses, _open_deg(design, motion))


def _open_deg(design: Design, motion: str) -> float:
    stated = design.brief.motions.get(motion)
    if stated is not None and stated.hinge is not None:
        return float(stated.hinge.open_deg)
    made = stated is not None or motion in design.snapshot.motions or motion != JAW
    return math.nan if made else float(HingeBrief().open_deg)
