"""Long jobs by name, with plain values to work on: run at once by scripts, beside the interface by the window."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..checks.runner import run_fitting
from ..model.brief import Brief
from ..model.progress import Job
from ..model.report import Report
from ..model.snapshot import Snapshot
from ..performer.landmarks.proposal import Proposal, propose_landmarks
from ..performer.tried_on import design_of
from .refusals import LibraryMissing


@dataclass(frozen=True)
class Errand:
    """A job to run and what to run it on; both can be handed to another process."""

    job: Callable[..., Job[Any]]
    given: tuple[Any, ...]

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
    return (yield from run_fitting(design_of(snapshot, brief).fitting, only))


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

    design = design_of(snapshot, brief)
    report = yield from run_fitting(design.fitting)
    posed, following = design.fitting.posed_parts, design.fitting.following_parts
    try:
        yield from write_report(report, design.snapshot, design.brief, folder, posed=posed, following=following)
    except ImportError as error:
        raise LibraryMissing("The report's page", error) from error
    return report


def propose(snapshot: Snapshot) -> Job[Proposal]:
    """Propose the landmarks that nobody placed."""
    return (yield from propose_landmarks(snapshot))
