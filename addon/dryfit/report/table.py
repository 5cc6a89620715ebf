"""Findings as a table for a spreadsheet: one row a finding."""

import csv
import io
import math
from collections.abc import Iterable

from ..model.finding import Finding
from ..model.report import CheckResult, Report

COLUMNS = (
    "variant", "check", "check_status", "finding", "severity", "message", "object", "region",
    "x_mm", "y_mm", "z_mm", "value", "limit", "unit", "fix", "exception",
)  # fmt: skip
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""First characters that make a spreadsheet run a cell (OWASP, CSV Injection), with their full-width twins."""


def findings_table(reports: Iterable[Report]) -> str:
    """Return CSV text (RFC 4180), a header row and one row for each finding of each report.

    Text that a spreadsheet would run as a formula gets an apostrophe in front; figures stay figures.
    """
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for report in reports:
        for check in report.checks:
            for name, finding in check.numbered():
                writer.writerow(_row(report, check, name, finding))
    return stream.getvalue()


def safe_cell(text: str) -> str:
    """Return text that no spreadsheet takes for a formula."""
    return f"'{text}" if text.lstrip(" ").startswith(FORMULA_STARTS) or text.startswith(FORMULA_STARTS) else text


def _row(report: Report, check: CheckResult, name: str, finding: Finding) -> list[str]:
    words = (report.variant.name, check.id, str(check.status), name, str(finding.severity), finding.message,
             finding.object, finding.region)  # fmt: skip
    figures = (*finding.at_mm, finding.value, finding.limit)
    last = (finding.unit, finding.fix, finding.exception or "")
    return [*map(safe_cell, words), *map(_figure, figures), *map(safe_cell, last)]


def _figure(value: float) -> str:
    return f"{value:.4f}" if math.isfinite(value) else ""
