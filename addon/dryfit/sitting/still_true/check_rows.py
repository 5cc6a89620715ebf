"""The bench's verdict and its row of each check that was run: what panels draw, in line with what still holds."""

from collections.abc import Mapping
from typing import Any

from ..room.room_names import CHECK as ROOM
from .outdated import counted_report, counted_verdict

OLDER = "Old: measured before the last change"
"""What stands in the viewport beside what is shown of an older design."""


def show_rows(scene: Any, report: Mapping[str, Any], reasons: Mapping[str, str]) -> None:
    """Fill the scene's rows and verdict from its stored report.

    Parameters
    ----------
    report
        In the layout of the JSON Schema.
    reasons
        Outdated check -> why it no longer holds.
    """
    bench = scene.dryfit
    run = {check["id"] for check in report["checks"]}
    counted = counted_report(report, reasons)
    bench.checks.clear()
    for check in counted["checks"]:
        if check["id"] in run:
            _fill(bench.checks.add(), check, reasons.get(check["id"], ""))
    bench.verdict, bench.headline = counted["verdict"], counted["headline"]
    bench.stale = bool(reasons)


def shown_reasons(scene: Any) -> dict[str, str]:
    """Return why the rows say that checks no longer hold: check -> reason."""
    return {row.name: row.outdated for row in scene.dryfit.checks if row.outdated}


def outdated_reason(scene: Any, check: str) -> str:
    """Return why a check's figures are older than the scene, as its row says; ``""`` where they hold or it has none."""
    if check == ROOM:
        return str(scene.dryfit.room_outdated)
    row = scene.dryfit.checks.get(check)
    return str(row.outdated) if row is not None else ""


def verdict_shown(scene: Any) -> str:
    """Return what the rows amount to."""
    return str(counted_verdict({row.name: row.status for row in scene.dryfit.checks}))


def _fill(row: Any, check: Mapping[str, Any], reason: str) -> None:
    row.name, row.status, row.reason, row.outdated = check["id"], check["status"], check["reason"], reason
    found = [entry for entry in check["findings"] if entry["exception"] is None and entry["severity"] != "info"]
    row.headline = f"{len(found)} finding{'' if len(found) == 1 else 's'}" if found else ""
