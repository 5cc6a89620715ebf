"""The limit of a finding in words, with the word it stands under."""

from collections.abc import Mapping
from typing import Any

from ..checks.check import Check
from ..model.finding import Finding
from ..model.limits import basis_of_value
from ..model.report import Report
from .wording import with_unit

Listed = Mapping[str, Mapping[str, Any]]


def limits_of(report: Report, check: Check | None) -> Listed:
    """Return the limits of a report that a check reads, by name; all of them where the check is not known."""
    return {name: entry for name, entry in report.limits.items() if check is None or name in check.limits}


def limit_said(finding: Finding, limits: Listed) -> str:
    """Return what a finding was held against: ``0.20 mm (practice)``.

    A piece's own least wall and the bare face's own figures stand under no word.
    """
    word = basis_of_value(finding.limit, limits)
    return with_unit(finding.limit, finding.unit) + (f" ({word})" if word else "")
