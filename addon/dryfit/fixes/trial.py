"""A mend tried before it is advised: the design with a cause mended, and what the same questions answer then."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from ..checks.runner import run_fitting
from ..model.errors import DryfitError
from ..model.finding import Finding
from ..model.progress import Job
from ..model.report import Report
from ..model.snapshot import Snapshot
from ..performer.fitting import Fitting
from .lift import lift
from .mended import Mended, NothingToMend
from .remedies import REMEDIES


@dataclass(frozen=True)
class Trial:
    """A design as it is once some findings are mended, with what was measured on it and which pieces changed."""

    fitting: Fitting
    report: Report
    changed: tuple[str, ...]


def try_mend(fitting: Fitting, findings: Sequence[Finding], only: Collection[str], wall_mm: float) -> Job[Trial | None]:
    """Mend some findings one after the other on a copy of the design, and ask some questions again.

    Parameters
    ----------
    fitting
        The design, as measured; it is not changed.
    findings
        What is to be mended; those without a remedy are left.
    only
        Ids of the checks to ask again.
    wall_mm
        How thick a piece is to be where it is lifted out of the skin, mm.

    Yields
    ------
    Progress
        Of the checks.

    Returns
    -------
    Trial or None
        None where nothing of it could be mended.
    """
    mending, changed = fitting, dict[str, None]()
    for finding in findings:
        try:
            step = _mend(mending, finding, wall_mm)
        except (NothingToMend, KeyError):
            continue
        if step is not None:
            changed[step.part] = None
            mending = fitting.instead(_with_piece(mending.snapshot, step))
    if not changed:
        return None
    try:
        report = yield from run_fitting(mending, tuple(only))
    except DryfitError:
        return None
    return Trial(mending, report, tuple(changed))


def _mend(fitting: Fitting, finding: Finding, wall_mm: float) -> Mended | None:
    if finding.remedy == "lift":
        return lift(fitting, finding, minimum_mm=wall_mm)
    remedy = REMEDIES.get(finding.remedy)
    return remedy(fitting, finding) if remedy is not None else None


def _with_piece(snapshot: Snapshot, step: Mended) -> Snapshot:
    """Return the design with one piece in its new shape; its motions carry it as before."""
    parts = tuple(
        replace(part, vertices_mm=step.vertices_mm) if part.name == step.part else part for part in snapshot.parts
    )
    old = snapshot.part(step.part).vertices_mm
    motions = {
        name: replace(motion, frames_mm={part: frames + (step.vertices_mm - old) if part == step.part else frames
                                         for part, frames in motion.frames_mm.items()})
        for name, motion in snapshot.motions.items()
    }  # fmt: skip
    return replace(snapshot, parts=parts, motions=motions)
