"""The verdict in one plain sentence, and the cautions that go with every report."""

from ..model.finding import Finding, Severity, Status
from ..model.report import CheckResult, Report
from .wording import counted

SAFETY = (
    "This sheet is a warning aid. It never clears a design for wear.",
    "The performer's own comfort comes first: stop and take the piece off when they ask.",
    "Breathing, sight, load on the head and neck, adhesives, skin reactions and contact lenses belong to "
    "licensed practitioners and to local rules. Ask them, and test on the performer, before a shoot day.",
)
"""Cautions of every report."""


def open_findings(result: CheckResult, severity: Severity) -> list[Finding]:
    """Return a check's findings of one severity that nobody has accepted."""
    return [found for found in result.findings if found.severity == severity and found.exception is None]


def verdict_sentence(report: Report) -> str:
    """Return one sentence that says what the verdict means and how many things it rests on."""
    fails, reviews = _causes(report)
    unchecked = [result.id for result in report.checks if result.status == Status.NOT_CHECKED]
    sentence = _opening(report, fails, reviews, unchecked)
    if unchecked and report.verdict != Status.NOT_CHECKED:
        sentence += f" {_not_made(unchecked)}"
    return sentence


def _causes(report: Report) -> tuple[int, int]:
    """Return how many things fail, and how many more are to be reviewed; what has one cause is one thing."""
    severities: dict[str, Severity] = {}
    for result in report.checks:
        for name, finding in result.numbered():
            if finding.exception is None and finding.severity != Severity.INFO:
                thing = finding.cause or name
                severities[thing] = finding.severity.or_worse(severities.get(thing, finding.severity))
    found = list(severities.values())
    return found.count(Severity.FAIL), found.count(Severity.REVIEW)


def _opening(report: Report, fails: int, reviews: int, unchecked: list[str]) -> str:
    if report.verdict == Status.FAIL:
        later = f" {counted(reviews, 'more thing')} {'needs' if reviews == 1 else 'need'} a look." if reviews else ""
        return f"Not as it stands: {counted(fails, 'thing')} must change before this is moulded.{later}"
    if report.verdict == Status.REVIEW:
        return f"Nothing fails, but {counted(reviews, 'thing')} {'needs' if reviews == 1 else 'need'} a person's eye."
    if report.verdict == Status.NOT_CHECKED:
        return f"No verdict yet. {_not_made(unchecked)}" if unchecked else "No verdict yet: no check was made."
    accepted = sum(
        found.exception is not None and found.severity != Severity.INFO
        for result in report.checks for found in result.findings
    )  # fmt: skip
    given = (
        f" {counted(accepted, 'finding')} {'was' if accepted == 1 else 'were'} accepted in writing." if accepted else ""
    )
    return f"Every check passed: nothing measured here stands in the way of moulding it.{given}"


def _not_made(unchecked: list[str]) -> str:
    return f"{counted(len(unchecked), 'check')} could not be made: {', '.join(unchecked)}."
