"""A report for the terminal: the verdict first, one line a check, then what to do about it."""

import math
import sys
import textwrap
from collections.abc import Iterator, Mapping, Sequence

from ..checks.check import Check
from ..checks.registry import CHECKS
from ..model.finding import SEVERITY_WORDS, STATUS_WORDS, Finding, Severity, Status
from ..model.report import CheckResult, Report
from .figures import key_figures
from .held_against import Listed, limit_said, limits_of
from .verdict import first_sentence
from .wording import LOCK_WORDS, ascii_only, with_unit

WIDTH = 96


def summary(report: Report, checks: Sequence[Check] | None = None, ascii_signs: bool | None = None) -> str:
    """Return the report as plain text.

    Parameters
    ----------
    report
        What was measured.
    checks
        The checks that were asked, for their cautions; the registry's when None.
    ascii_signs
        True for a terminal that knows ASCII only; None looks at the encoding of stdout.

    Returns
    -------
    str
        Lines of up to 96 characters (names longer than that are not cut), ending in a newline.
    """
    known = {check.id: check for check in (CHECKS if checks is None else checks)}
    text = "\n".join(_lines(report, known)) + "\n"
    return ascii_only(text) if _wants_ascii(ascii_signs) else text


def _wants_ascii(stated: bool | None) -> bool:
    if stated is not None:
        return stated
    encoding = getattr(sys.stdout, "encoding", None) or "ascii"
    return "utf" not in encoding.lower()


def _lines(report: Report, checks: dict[str, Check]) -> Iterator[str]:
    lead = f"{STATUS_WORDS[report.verdict].upper()}  "
    yield from textwrap.wrap(
        lead + first_sentence(report, [*checks.values()]), WIDTH, subsequent_indent=" " * len(lead)
    )
    yield report.variant.name
    yield f"Base '{report.base.object}': {LOCK_WORDS.get(report.base.lock, report.base.lock)}."
    yield ""
    for result in report.checks:
        yield from _check_lines(result, report, checks.get(result.id))
    told_by = report.told_by()
    for result in report.checks:
        yield from _finding_block(result, told_by, limits_of(report, checks.get(result.id)))
    yield from _cautions(report, checks)


def _check_lines(result: CheckResult, report: Report, check: Check | None) -> Iterator[str]:
    lead = f"{STATUS_WORDS[result.status]:<12} {result.id:<14} "
    if result.status == Status.NOT_CHECKED:
        yield from textwrap.wrap(lead + result.reason, WIDTH, subsequent_indent=" " * 4)
        return
    figures = []
    for figure in key_figures(result, check):
        limit = f" ({figure.limit_said})" if figure.limit_said else ""
        figures.append(f"{figure.measure} {figure.said}{limit}")
    yield from textwrap.wrap(lead + "; ".join(figures), WIDTH, subsequent_indent=" " * 28)


def _finding_block(result: CheckResult, told_by: Mapping[str, str], limits: Listed) -> Iterator[str]:
    for name, finding in result.numbered():
        yield ""
        yield f"{name}  {_standing(finding)}  {finding.region}, on '{finding.object}'"
        yield from _wrapped(finding.message)
        if name in told_by:
            yield from _wrapped(f"Same cause as {told_by[name]}.")
        yield from _wrapped(_held_against(finding, limits))
        if finding.fix:
            yield from _wrapped(f"To mend it: {finding.fix}")
        if finding.exception is not None:
            yield from _wrapped(f"Accepted because: {finding.exception}")


def _standing(finding: Finding) -> str:
    word = SEVERITY_WORDS[finding.severity]
    return f"{word} (accepted)" if finding.exception is not None and finding.severity != Severity.INFO else word


def _held_against(finding: Finding, limits: Listed) -> str:
    value = with_unit(finding.value, finding.unit)
    limit = f", limit {limit_said(finding, limits)}" if math.isfinite(finding.limit) else ""
    place = ", ".join(f"{coordinate:.1f}" for coordinate in finding.at_mm)
    return f"Measured {value}{limit}, at ({place}) mm"


def _cautions(report: Report, checks: dict[str, Check]) -> Iterator[str]:
    said = dict.fromkeys(
        checks[result.id].caution for result in report.checks if result.id in checks and checks[result.id].caution
    )
    for caution in said:
        yield ""
        yield from _wrapped(f"Caution: {caution}", "")


def _wrapped(text: str, indent: str = "    ") -> list[str]:
    return textwrap.wrap(" ".join(text.split()), WIDTH, initial_indent=indent, subsequent_indent=indent)
