"""What a picture says about the design in it: design, verdict, brief, version, on one line that scripts can read back.

``Dryfit: verdict=fail; design=03-warden-hollow-cheek; findings=2 fail; checks=12 of 13; brief=9f8e7d6c5b4a; ...``
"""

import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any

from .finding import Severity, Status

BEGIN = "Dryfit: "
BETWEEN = "; "
SHORT = 12
"""Hex digits of a hash that a stamp carries."""


@dataclass(frozen=True)
class Stamp:
    """What is said; ``""`` is left out of the line.

    Attributes
    ----------
    verdict
        ``pass``, ``review``, ``fail`` or ``not_checked``.
    design
        The variant's name.
    findings
        How many findings of which severity nobody accepted.
    checks
        How many of the checks that there are gave an answer.
    why
        Why a verdict is ``not_checked``.
    file, brief
        First digits of the hashes of the design's file and of the brief.
    version
        Dryfit's version.
    headline
        The report in a sentence.
    """

    verdict: str
    design: str = ""
    findings: str = ""
    checks: str = ""
    why: str = ""
    file: str = ""
    brief: str = ""
    version: str = ""
    headline: str = ""

    def facts(self) -> dict[str, str]:
        """Return what is said as names and words, in order, without what is empty."""
        return {name: words for name, words in asdict(self).items() if words}

    def line(self) -> str:
        """Return the stamp as one line of text."""
        return BEGIN + BETWEEN.join(f"{name}={_one_line(words)}" for name, words in self.facts().items())


def stamp_of(report: Mapping[str, Any], known: int) -> Stamp:
    """Return the stamp of a report in the layout of its JSON Schema; ``known`` is how many checks there are."""
    answered = sum(check["status"] != Status.NOT_CHECKED for check in report["checks"])
    return Stamp(
        verdict=report["verdict"],
        design=report["variant"]["name"],
        findings=_tally(report),
        checks=f"{answered} of {known}",
        why=_why(report) if report["verdict"] == Status.NOT_CHECKED else "",
        file=report["variant"]["sha256"][:SHORT],
        brief=report["inputs"].get("brief_sha256", "")[:SHORT],
        version=report["dryfit"],
        headline=report.get("headline", ""),
    )


def read_line(text: str) -> Stamp | None:
    """Return the stamp in a text, whatever stands before it, or None; names that a stamp does not have are skipped."""
    _, found, line = text.rpartition(BEGIN)
    known = {entry.name for entry in fields(Stamp)}
    pairs = (piece.partition("=") for piece in line.split(BETWEEN)) if found else ()
    facts = {name.strip(): words.strip() for name, equals, words in pairs if equals and name.strip() in known}
    return Stamp(**facts) if "verdict" in facts else None


def _tally(report: Mapping[str, Any]) -> str:
    severities = [
        entry["severity"] for check in report["checks"] for entry in check["findings"] if entry["exception"] is None
    ]
    counts = ((severities.count(word), word) for word in (Severity.FAIL, Severity.REVIEW))
    return ", ".join(f"{count} {word}" for count, word in counts if count)


def _why(report: Mapping[str, Any]) -> str:
    missing = [check["id"] for check in report["checks"] if check["status"] == Status.NOT_CHECKED]
    return f"not measured: {', '.join(missing)}" if missing else "no check was made"


def _one_line(words: str) -> str:
    """Return words without what would end a field or a line, or begin another stamp."""
    return re.sub(r"[\x00-\x1f\x7f]+", " ", words).replace(";", ",").replace(BEGIN, BEGIN.replace(":", ",")).strip()
