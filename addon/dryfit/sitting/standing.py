"""How the design in a scene stands now: the stored report, counting only what still holds."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from ..checks.registry import CHECKS
from ..model.errors import InputError
from ..model.finding import Status, worst
from ..model.stamp import Stamp, stamp_of
from ..model.version import VERSION
from .design_prints import changed_since, design_prints, measured_from
from .stored_report import stored_report

NEVER = "nothing was measured yet; run Check Fit and save the file"
UNKNOWN = "a design that nobody noted"
NAMED = 4
"""So many names are told, then how many more."""


@dataclass(frozen=True)
class Standing:
    """What can be said of a design without measuring it again.

    Attributes
    ----------
    verdict
        The worst status of the stored checks; those measured before a change count as ``not_checked``.
    fresh
        Whether there is a report and nothing of it is older than a change.
    why
        Why it is not fresh, and what to do; ``""`` where it is.
    stamp
        What a picture says about it.
    """

    verdict: Status
    fresh: bool
    why: str
    stamp: Stamp


def standing(scene: Any) -> Standing:
    """Return how the design stands; nothing is measured and nothing is changed."""
    report = stored_report(scene)
    if not report.get("checks"):
        return _unknown(scene, NEVER)
    try:
        now = design_prints(scene)
    except InputError as error:
        return _unknown(scene, str(error))
    outdated = _outdated(report, measured_from(scene), now)
    if not outdated:
        return Standing(Status(report["verdict"]), True, "", stamp_of(report, len(CHECKS)))
    verdict = worst(
        [Status.NOT_CHECKED if check["id"] in outdated else Status(check["status"]) for check in report["checks"]]
    )
    why = _words(outdated)
    return Standing(verdict, False, why, _outdated_stamp(report, outdated, verdict, why))


def _unknown(scene: Any, why: str) -> Standing:
    return Standing(Status.NOT_CHECKED, False, why, Stamp("not_checked", scene.name, why=why, version=VERSION))


def _outdated(
    report: Mapping[str, Any], then: Mapping[str, Mapping[str, str]], now: Mapping[str, str]
) -> dict[str, tuple[str, ...]]:
    """Return the checks that were measured before a change, each with what changed."""
    names = [check["id"] for check in report["checks"]]
    changes = {name: changed_since(name, then[name], now) if name in then else (UNKNOWN,) for name in names}
    return {name: changed for name, changed in changes.items() if changed}


def _outdated_stamp(report: Mapping[str, Any], outdated: Mapping[str, Any], verdict: Status, why: str) -> Stamp:
    holding = {**report, "checks": [check for check in report["checks"] if check["id"] not in outdated]}
    return replace(stamp_of(holding, len(CHECKS)), verdict=str(verdict), why=why)


def _words(outdated: Mapping[str, tuple[str, ...]]) -> str:
    changed = sorted({name for names in outdated.values() for name in names})
    more = f" and {len(changed) - NAMED} more" if len(changed) > NAMED else ""
    checks = f"{len(outdated)} check{'s' * (len(outdated) != 1)}"
    return f"changed since {checks} measured it: {', '.join(changed[:NAMED])}{more}; run Check Fit and save the file"
