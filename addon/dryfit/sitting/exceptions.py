"""Accept findings with a reason, and take that back; the stored report follows at once."""

import json
from datetime import date
from typing import Any

from ..model.accepting import reason_for
from ..model.finding import Severity, Status, status_of, worst
from ..model.snapshot import Acceptance
from ..scene.acceptances import store_acceptances, stored_acceptances
from .brief_beside import brief_beside
from .stored_report import REPORT, list_checks, list_findings, stored_report


def acceptance_for(finding: Any, reason: str, by: str, whole_object: bool) -> Acceptance:
    """Return the exception for a listed finding, dated today."""
    region = "" if whole_object else finding.region
    return Acceptance(finding.check, finding.part, region, reason.strip(), by.strip(), date.today().isoformat())


def accept(scene: Any, acceptance: Acceptance) -> int:
    """Keep an exception with the scene and return how many findings are accepted now.

    Raises
    ------
    InputError
        When what the scene holds cannot be read.
    """
    store_acceptances(scene, [*stored_acceptances(scene), acceptance])
    return apply_acceptances(scene)


def withdraw(scene: Any, place: int) -> Acceptance:
    """Take back the exception at a place of the scene's list and return it.

    Raises
    ------
    IndexError
        When there is none.
    InputError
        When what the scene holds cannot be read.
    """
    kept = list(stored_acceptances(scene))
    taken = kept.pop(place)
    store_acceptances(scene, kept)
    apply_acceptances(scene)
    return taken


def apply_acceptances(scene: Any) -> int:
    """Mark the stored report's findings by the scene's exceptions; return how many are accepted.

    Raises
    ------
    InputError
        When what the scene holds cannot be read.
    """
    values = stored_report(scene)
    if not values:
        return 0
    acceptances = (*stored_acceptances(scene), *brief_beside().exceptions)
    count = 0
    for check in values["checks"]:
        for entry in check["findings"]:
            entry["exception"] = reason_for(acceptances, check["id"], entry["object"], entry["region"])
            count += entry["exception"] is not None
        still_open = (Severity(entry["severity"]) for entry in check["findings"] if entry["exception"] is None)
        check["status"] = str(status_of(still_open, check["reason"]))
    values["verdict"] = str(worst([Status(check["status"]) for check in values["checks"]]))
    values["exceptions"] = [vars(each).copy() for each in acceptances]
    scene[REPORT] = json.dumps(values, ensure_ascii=False, allow_nan=False)
    stale, measured_on = scene.dryfit.stale, scene.dryfit.measured_on
    list_checks(scene, values)
    list_findings(scene, values, {})
    scene.dryfit.stale, scene.dryfit.measured_on = stale, measured_on
    return count
