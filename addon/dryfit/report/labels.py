"""Short labels that tie a finding on the page to its mark in the pictures: A1, A2, B1 ..."""

from collections.abc import Sequence
from string import ascii_uppercase

from ..checks.check import Check
from ..model.finding import Finding
from ..model.report import Report


def check_letters(report: Report, checks: Sequence[Check]) -> dict[str, str]:
    """Return a letter for each check of the report: its place among all checks, so that letters stay the same."""
    order = [check.id for check in checks]
    order += [result.id for result in report.checks if result.id not in order]
    return {name: ascii_uppercase[place % 26] for place, name in enumerate(order)}


def labelled(report: Report, checks: Sequence[Check]) -> dict[str, list[tuple[str, Finding]]]:
    """Return each check's findings with their labels."""
    letters = check_letters(report, checks)
    return {
        result.id: [(f"{letters[result.id]}{number}", finding) for number, finding in enumerate(result.findings, 1)]
        for result in report.checks
    }
