"""Is this result still true of the scene? For each check: what changed since, or that it was never run.

This is the one answer: the sidebar's rows and verdict, what is said beside a pose, the figures that are saved and the
gate of renders all take it from here. An outdated check and one that was never run count as ``not_checked``.
"""

from collections.abc import Collection, Iterable, Mapping
from typing import Any

from ...checks.headline import headline
from ...checks.registry import CHECKS
from ...model.finding import Status, worst
from .design_prints import changed_since, measured_from, renamed_parts

NEVER_RUN = "It was not run"
UNKNOWN = "a design that nobody noted"

Outdated = Mapping[str, tuple[str, ...]]
"""Check -> what changed since it was run; a check that still holds is not in it."""


def outdated_checks(scene: Any, checks: Iterable[str], now: Mapping[str, str]) -> Outdated:
    """Return which of the checks that were run no longer hold.

    Parameters
    ----------
    now
        What the scene is made of now; see ``design_prints``.
    """
    then, renamed = measured_from(scene), renamed_parts(scene)
    changes = {name: changed_since(name, then[name], now, renamed) if name in then else (UNKNOWN,) for name in checks}
    return {name: changed for name, changed in changes.items() if changed}


def cause_words(changed: Iterable[str]) -> str:
    """Return what changed as a sentence."""
    return f"Changed since it was measured: {', '.join(changed)}"


def unrun_checks(run: Collection[str]) -> tuple[str, ...]:
    """Return the checks that there are and that were not run, in their order."""
    return tuple(check.id for check in CHECKS if check.id not in run)


def counted_verdict(statuses: Mapping[str, str]) -> Status:
    """Return the worst status of every check that there is; one without a status was not run."""
    unrun = [Status.NOT_CHECKED for _ in unrun_checks(statuses)]
    return worst([*(Status(status) for status in statuses.values()), *unrun])


def counted_report(report: Mapping[str, Any], reasons: Mapping[str, str]) -> dict[str, Any]:
    """Return a stored report as it counts now: every check that there is, outdated and unrun ones ``not_checked``.

    Parameters
    ----------
    report
        In the layout of the JSON Schema.
    reasons
        Outdated check -> why it no longer holds.
    """
    run = {check["id"]: check for check in report["checks"]}
    lacking = {name: _unrun(name) for name in unrun_checks(run)}
    checks = [_counted(check, reasons.get(name, "")) for name, check in in_order({**run, **lacking}).items()]
    verdict = counted_verdict({check["id"]: check["status"] for check in checks})
    sentence = headline(report, CHECKS, set(reasons) & set(run))
    return {**report, "verdict": str(verdict), "headline": sentence, "checks": checks}


def in_order(checks: Mapping[str, Any]) -> dict[str, Any]:
    """Return checks by name in the order of the registry, unknown ones last."""
    places = {check.id: place for place, check in enumerate(CHECKS)}
    return {name: checks[name] for name in sorted(checks, key=lambda name: places.get(name, len(places)))}


def _counted(check: dict[str, Any], reason: str) -> dict[str, Any]:
    return {**check, "status": str(Status.NOT_CHECKED), "reason": reason} if reason else check


def _unrun(name: str) -> dict[str, Any]:
    return {
        "id": name,
        "status": str(Status.NOT_CHECKED),
        "reason": NEVER_RUN,
        "seconds": 0.0,
        "measures": {},
        "curves": {},
        "findings": [],
    }
