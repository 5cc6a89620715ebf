"""Write an exception down with the scene, and take it back; the stored report follows at once."""

from datetime import date
from typing import Any

from ..checks.deciding import deciding_figure
from ..checks.registry import CHECKS
from ..model.exceptions import WrittenException, reason_for
from ..model.finding import Severity, status_of
from ..model.report import plain
from ..scene.exceptions import store_exceptions, stored_exceptions
from .brief_beside import brief_beside
from .still_true.check_rows import show_rows, shown_reasons
from .stored_report import list_findings, store_values, stored_report


def exception_for(finding: Any, reason: str, by: str, whole_object: bool) -> WrittenException:
    """Return the exception for a listed finding, dated today."""
    region = "" if whole_object else finding.region
    return WrittenException(finding.check, finding.part, region, reason.strip(), by.strip(), date.today().isoformat())


def add_exception(scene: Any, exception: WrittenException) -> int:
    """Keep an exception with the scene and return how many findings are accepted now.

    Raises
    ------
    InputError
        When what the scene holds cannot be read.
    """
    store_exceptions(scene, [*stored_exceptions(scene), exception])
    return apply_exceptions(scene)


def withdraw_exception(scene: Any, place: int) -> WrittenException:
    """Take back the exception at a place of the scene's list and return it.

    Raises
    ------
    IndexError
        When there is none.
    InputError
        When what the scene holds cannot be read.
    """
    kept = list(stored_exceptions(scene))
    taken = kept.pop(place)
    store_exceptions(scene, kept)
    apply_exceptions(scene)
    return taken


def apply_exceptions(scene: Any) -> int:
    """Mark the stored report's findings by the scene's exceptions; return how many are accepted.

    Raises
    ------
    InputError
        When what the scene holds cannot be read.
    """
    values = stored_report(scene)
    if not values:
        return 0
    exceptions = (*stored_exceptions(scene), *brief_beside().exceptions)
    count, known = 0, {check.id: check for check in CHECKS}
    for check in values["checks"]:
        for entry in check["findings"]:
            entry["exception"] = reason_for(exceptions, check["id"], entry["object"], entry["region"])
            count += entry["exception"] is not None
        still_open = (Severity(entry["severity"]) for entry in check["findings"] if entry["exception"] is None)
        check["status"] = str(status_of(still_open, check["reason"]))
        decided = deciding_figure(check, known.get(check["id"]))
        check["decided"] = {name: plain(value) for name, value in vars(decided).items()} if decided else {}
    values["exceptions"] = [vars(each).copy() for each in exceptions]
    store_values(scene, values)
    show_rows(scene, values, shown_reasons(scene))
    list_findings(scene, values, {})
    return count
