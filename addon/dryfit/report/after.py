"""What a mend would come to: each of the foremost causes mended on a copy, measured again and shown."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..checks.cause_words import asked_wall_mm, saying_of
from ..checks.causes import MOUTH, WALL, causes
from ..checks.check import Check
from ..checks.headline import topic
from ..fixes.trial import Trial, try_mend
from ..model.brief import Brief
from ..model.finding import STATUS_WORDS, Status
from ..model.progress import Job
from ..model.report import Report
from ..model.sentences import capital
from ..model.snapshot import Snapshot
from ..model.stamp import stamp_of
from ..model.version import VERSION
from ..performer.fitting import Fitting
from .figures import deciding_of
from .pictures.faults import Fault, fault_scene, faults, stop_of
from .pictures.studio import Picture, Studio

MOST = 2
"""So many causes are mended on trial."""
ON_TRIAL = "mended on trial"
"""What the stamp of such a picture adds to the design's name: it shows no file that there is."""
SPARE_MM = 0.1
"""A wall is built up this much thicker than asked, so that a fresh measurement finds it thick enough."""
ALIKE = (MOUTH, (*WALL, "edge"))
"""Questions that a mend of one of them may change the answer of."""


@dataclass(frozen=True)
class After:
    """A cause after its mend: the number of the cause, what was measured then in words, and a picture."""

    number: int
    words: str
    clear: bool
    picture: Picture


def after_mends(report: Report, snapshot: Snapshot, brief: Brief, checks: Sequence[Check]) -> Job[tuple[After, ...]]:
    """Mend each of the foremost causes on a copy and measure what comes of it; those without a remedy are left out.

    Parameters
    ----------
    report, snapshot, brief
        What was measured, on what and against what.
    checks
        The checks that there are.
    """
    found = [fault for fault in faults(report)[:MOST] if any(finding.remedy for finding in fault.found)]
    after = []
    for fault in found:
        asked = _asked(fault, report)
        fitting = Fitting(snapshot, brief)
        trial = yield from try_mend(fitting, fault.found, asked, _wall_mm(fault, brief))
        if trial is not None:
            after.append(_after(fault, trial, snapshot, fitting, checks))
    return tuple(after)


def _asked(fault: Fault, report: Report) -> list[str]:
    """Return the checks to ask again: those that tell of the cause, and those that its mend may change."""
    told = {each.check for each in fault.cause.findings}
    near = told.union(*(group for group in ALIKE if told & {*group}))
    return [result.id for result in report.checks if result.id in near and result.status != Status.NOT_CHECKED]


def _wall_mm(fault: Fault, brief: Brief) -> float:
    """Return how thick a wall is asked for, mm, with a little to spare."""
    asked = [asked_wall_mm(finding.fix) for finding in fault.found]
    return max([wall for wall in asked if wall is not None], default=brief.limits.interior_mm) + SPARE_MM


def _after(fault: Fault, trial: Trial, snapshot: Snapshot, fitting: Fitting, checks: Sequence[Check]) -> After:
    stamp = stamp_of(trial.report.to_dict(), len(checks))
    facts = replace(stamp, design=f"{stamp.design}, {ON_TRIAL}").facts()
    studio = Studio(trial.fitting.snapshot, trial.fitting.posed_parts, f"dryfit {VERSION}", facts)
    before = Studio(snapshot, fitting.posed_parts, "")
    setting, view = fault_scene(before, fault, stop_of(trial.report), studio)
    words, clear = outcome_words(trial.report, checks)
    said = f"After the change: {words}"
    picture = studio.plain(f"after-{fault.number}", "", setting, view)()
    named = Picture(picture.name, "", said, said, picture.png, picture.size, picture.small)
    return After(fault.number, words, clear, named)


def outcome_words(report: Report, checks: Sequence[Check]) -> tuple[str, bool]:
    """Return what the questions answer after a mend, in words, and whether nothing counts against it any more."""
    layout, known = report.to_dict(), {check.id: check for check in checks}
    left = causes(layout)
    if left:
        return f"{saying_of(left[0], layout).sentence} Not enough by itself.", False
    said = []
    for result in layout["checks"]:
        figure = deciding_of(result, known.get(result["id"]))
        measured = f", {figure.said}" if figure and not figure.yes_no else ""
        limit = f" ({figure.limit_said})" if figure and figure.limit_said else ""
        said.append(f"{topic(result['id'])} {STATUS_WORDS[Status(result['status'])].lower()}{measured}{limit}")
    return f"{capital('; '.join(said))}.", True
