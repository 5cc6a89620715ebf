"""One variant's line in a batch: what came out, or why nothing did."""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ..checks.registry import CHECKS
from ..model.file_content import digest_of
from ..model.finding import Status
from ..model.report import Report
from ..report.figures import Figure, deciding_of
from .approved import Change

ROW_NAME = "row.json"
MOST_BAD = 1e6
"""Badness of a figure that should be some and is none."""
UNUSABLE = "unusable"
"""The verdict of a file that gave no result."""
WORST_FIRST: tuple[str, ...] = (Status.FAIL, UNUSABLE, *tuple(Status)[Status.FAIL.rank + 1 :])
"""What a row's verdict may be: a file without a result comes next to those that fail."""


@dataclass(frozen=True)
class Row:
    """One variant's result in brief.

    Attributes
    ----------
    name, source
        The variant and its file, relative to the batch's folder.
    folder
        Its report's folder, relative to the batch's output.
    key
        Hash of all that the result depends on; equal keys mean equal results.
    verdict
        A report's verdict, or ``unusable``: the file could not be measured at all.
    reason
        Why it is unusable, in words for a user.
    seconds, peak_mb
        What it cost.
    checks
        Check id -> status.
    measures
        ``check.measure`` -> figure.
    worst
        The message of the first finding of the worst check, or ``""``.
    headline
        The report in a sentence.
    decided
        Check id -> the figure that decided about it, with its limit, both in words, and ``badness`` to sort by.
    read_from
        Files that the design draws on beside its own -> their SHA-256, ``""`` for one that is missing; paths are
        relative to the variant's folder.
    against, change, change_mm
        Against the approved one: ``yes`` (still that), ``no``, ``unknown``, ``approved`` for that one itself, ``""``
        where none was named; in words; and how far the two stand apart, None where shapes were not held together.
    """

    name: str
    source: str
    folder: str
    key: str
    verdict: str
    reason: str = ""
    seconds: float = 0.0
    peak_mb: float = 0.0
    checks: Mapping[str, str] = field(default_factory=dict)
    measures: Mapping[str, Any] = field(default_factory=dict)
    worst: str = ""
    headline: str = ""
    decided: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    read_from: Mapping[str, str] = field(default_factory=dict)
    against: str = ""
    change: str = ""
    change_mm: float | None = None

    def body(self) -> dict[str, Any]:
        """Return what does not change from run to run: everything but the cost."""
        values = vars(self).copy()
        for cost in ("seconds", "peak_mb"):
            del values[cost]
        return values


def row_of(
    report: Report,
    name: str,
    source: str,
    folder: str,
    key: str,
    seconds: float,
    peak_mb: float,
    read_from: Mapping[str, str],
    change: Change | None = None,
) -> Row:
    """Return the row for a report; see ``Row`` for what is held."""
    plain = report.to_dict()["checks"]
    return Row(
        name=name,
        source=source,
        folder=folder,
        key=key,
        verdict=str(report.verdict),
        seconds=round(seconds, 2),
        peak_mb=round(peak_mb, 1),
        checks={check["id"]: check["status"] for check in plain},
        measures={f"{check['id']}.{name}": value for check in plain for name, value in check["measures"].items()},
        worst=_worst_message(report),
        headline=report.headline,
        decided=dict(_decided(plain)),
        read_from=read_from,
        against=change.answer if change else "",
        change=change.words if change else "",
        change_mm=change.most_mm if change else None,
    )


def _decided(checks: Sequence[Mapping[str, Any]]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield for each check that has one the figure that decided about it; badness is the share of its limit it uses."""
    known = {check.id: check for check in CHECKS}
    for result in checks:
        figure = deciding_of(result, known.get(result["id"]))
        if figure is not None and isinstance(figure.value, int | float):
            yield result["id"], {"said": figure.said, "limit": figure.limit_said, "badness": round(_badness(figure), 6)}


def _badness(figure: Figure) -> float:
    if not figure.measurable or isinstance(figure.value, str):
        return 0.0
    over, under = (figure.limit, figure.value) if figure.at_least else (figure.value, figure.limit)
    return over / under if under > 0.0 else MOST_BAD if over > 0.0 else 0.0


def _worst_message(report: Report) -> str:
    for check in report.checks:
        if check.status == report.verdict:
            return check.reason or next((f.message for f in check.findings if f.exception is None), "")
    return ""


def kept_row(folder: Path) -> Row | None:
    """Return the row kept in a report folder, or None where there is none that can be read."""
    try:
        return Row(**json.loads((folder / ROW_NAME).read_text(encoding="utf8")))
    except (OSError, ValueError, TypeError):
        return None


def stored_row(folder: Path, key: str, variants: Path) -> Row | None:
    """Return the row kept in a report folder when it was made from the same inputs, else None.

    Parameters
    ----------
    folder
        The report's folder.
    key
        Hash of the inputs that are known before the design is read.
    variants
        The variant's folder; what the design draws on is held against it as it is now.
    """
    row = kept_row(folder)
    if row is None or row.key != key:
        return None
    unchanged = all(digest_of(variants / path) == digest for path, digest in row.read_from.items())
    return row if unchanged else None


def worst_first(rows: Sequence[Row]) -> list[Row]:
    """Return rows by verdict, worst first, and by name within."""
    return sorted(rows, key=lambda row: (WORST_FIRST.index(row.verdict), row.name, row.source))
