"""How the design in a scene stands now: the stored report, counting only what still holds."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from ..checks.registry import CHECKS
from ..model.errors import InputError
from ..model.finding import Status
from ..model.stamp import Stamp, stamp_of
from ..model.version import VERSION
from .still_true.design_prints import design_prints
from .still_true.outdated import Outdated, cause_words, counted_report, outdated_checks, unrun_checks
from .still_true.shape_prints import ShapePrints
from .stored_report import stored_report

NEVER = "nothing was measured yet; run Check Fit and save the file"
NAMED = 4
"""So many names are told, then how many more."""


@dataclass(frozen=True)
class Standing:
    """What can be said of a design without measuring it again.

    Attributes
    ----------
    verdict
        The worst status of all checks; those measured before a change, and those never run, count as ``not_checked``.
    fresh
        Whether there is a report and nothing of it is older than a change.
    why
        Why it is not fresh, and what to do; ``""`` where it is.
    stamp
        What a picture says about it.
    outdated
        The checks that no longer hold, each with what changed since.
    unrun
        The checks that were never run.
    """

    verdict: Status
    fresh: bool
    why: str
    stamp: Stamp
    outdated: Outdated = field(default_factory=dict)
    unrun: tuple[str, ...] = ()


def standing(scene: Any, shapes: ShapePrints | None = None) -> Standing:
    """Return how the design stands; nothing is measured and nothing is changed.

    Parameters
    ----------
    shapes
        What is known of the parts' shapes; None reads every one.
    """
    report = stored_report(scene)
    run = [check["id"] for check in report.get("checks", ())]
    if not run:
        return _unknown(scene, NEVER)
    try:
        outdated = _outdated(scene, run, shapes)
    except (InputError, OSError) as error:
        return _unknown(scene, str(error))
    return _known(report, outdated, unrun_checks(run))


def reasons_now(scene: Any, run: Collection[str], shapes: ShapePrints | None = None) -> dict[str, str]:
    """Return why checks that were run no longer hold: check -> reason. Where the scene cannot be read, none does.

    Parameters
    ----------
    run
        The checks.
    shapes
        What is known of the parts' shapes; None reads every one.
    """
    try:
        outdated = _outdated(scene, run, shapes)
    except (InputError, OSError) as error:
        return dict.fromkeys(run, f"Not known whether this still holds: {error}")
    return {check: cause_words(changed) for check, changed in outdated.items()}


def _outdated(scene: Any, run: Iterable[str], shapes: ShapePrints | None) -> Outdated:
    return outdated_checks(scene, run, design_prints(scene, shapes))


def figures_now(scene: Any) -> dict[str, Any]:
    """Return the stored report as it counts now: outdated and unrun checks ``not_checked``; empty where there is none.

    The figures and findings of an outdated check stay in it: they are those from before.
    """
    report = stored_report(scene)
    run = [check["id"] for check in report.get("checks", ())]
    return counted_report(report, reasons_now(scene, run)) if report else {}


def _unknown(scene: Any, why: str) -> Standing:
    return Standing(Status.NOT_CHECKED, False, why, Stamp("not_checked", scene.name, why=why, version=VERSION))


def _known(report: Mapping[str, Any], outdated: Outdated, unrun: tuple[str, ...]) -> Standing:
    counted = counted_report(report, {check: cause_words(changed) for check, changed in outdated.items()})
    holding = [{**check, "findings": []} if check["id"] in outdated else check for check in counted["checks"]]
    stamp = stamp_of({**counted, "checks": holding}, len(CHECKS))
    why = _words(outdated) if outdated else ""
    return Standing(
        Status(counted["verdict"]), not outdated, why, replace(stamp, why=why or stamp.why), outdated, unrun
    )


def _words(outdated: Outdated) -> str:
    changed = sorted({name for names in outdated.values() for name in names})
    more = f" and {len(changed) - NAMED} more" if len(changed) > NAMED else ""
    checks = f"{len(outdated)} check{'s' * (len(outdated) != 1)}"
    return f"changed since {checks} measured it: {', '.join(changed[:NAMED])}{more}; run Check Fit and save the file"
