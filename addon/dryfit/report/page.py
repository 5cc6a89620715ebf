"""The fitting sheet: one HTML page that needs nothing else."""

import base64
import hashlib
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING, Any

from ..checks.check import Check
from ..model.brief import Brief
from ..model.finding import SEVERITY_WORDS, STATUS_WORDS, Finding, Severity, Status
from ..model.limit_basis import MEANINGS
from ..model.report import CheckResult, Report
from . import palette
from .closing_steps import is_step
from .figures import Figure, all_figures, key_figures
from .gauge import strip_svg
from .held_against import Listed, limit_said, limits_of
from .labels import check_letters
from .pictures.studio import Picture
from .plots import Plot, draw_plots
from .verdict import SAFETY, first_sentence
from .wording import LOCK_WORDS, counted, with_unit

if TYPE_CHECKING:
    import jinja2

FOREMOST = 5
"""So many findings of each check stand at the top; the others stand with their check."""
SCRIPT = resources.files(__package__).joinpath("templates", "report.js").read_text(encoding="utf-8")
SHAPES = {
    Status.PASS: '<circle cx="12" cy="12" r="10"/><path class="in" d="M7 12.5l3.4 3.4L17.2 8.8"/>',
    Status.REVIEW: '<path d="M12 1.5L22.5 12 12 22.5 1.5 12z"/><path class="in" d="M12 6.8v6.4M12 16.4v.4"/>',
    Status.FAIL: '<rect x="2" y="2" width="20" height="20" rx="2"/><path class="in" d="M7.5 7.5l9 9M16.5 7.5l-9 9"/>',
    Status.NOT_CHECKED: '<circle class="out" cx="12" cy="12" r="9.5"/><path class="on" d="M7.5 12h9"/>',
}
"""A tick in a disc, an exclamation in a diamond, a cross in a square, a dash in a broken ring."""


@dataclass(frozen=True)
class FigureRow:
    """A figure with its measuring strip."""

    figure: Figure
    strip: str


@dataclass(frozen=True)
class Entry:
    """A finding as the page says it; ``told_by`` is the id of one that tells of the same cause before it, or ``""``."""

    label: str
    id: str
    finding: Finding
    word: str
    mark: str
    value: str
    limit: str
    place: str
    told_by: str


@dataclass(frozen=True)
class Section:
    """One check as the page says it."""

    letter: str
    result: CheckResult
    check: Check | None
    word: str
    question: str
    rows: tuple[FigureRow, ...]
    figures: tuple[Figure, ...]
    entries: tuple[Entry, ...]
    pictures: tuple[Picture, ...]
    steps: tuple[Picture, ...]
    plots: tuple[Plot, ...]


def page_html(
    report: Report,
    checks: Sequence[Check],
    pictures: Sequence[Picture],
    brief: Brief,
    written: datetime,
    moving: bytes = b"",
) -> str:
    """Return the page as text. The same input gives the same page.

    Parameters
    ----------
    report
        What was measured.
    checks
        The checks that were asked, for their words.
    pictures
        Taken by ``gallery.photograph``; may be empty.
    brief
        For the materials it was checked with.
    written
        The time to state.
    moving
        The GIF of the closing, or ``b""``.

    Raises
    ------
    ImportError
        Without Jinja2 or matplotlib.
    """
    return _template().render(_content(report, checks, pictures, brief, written, moving)).lstrip() + "\n"


@lru_cache(maxsize=1)
def _template() -> "jinja2.Template":
    """Return the page's template, compiled once: a batch fills it for every variant."""
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader(__package__, "templates"), autoescape=True, trim_blocks=True, lstrip_blocks=True
    )
    environment.filters["data_uri"] = data_uri
    environment.filters["with_unit"] = with_unit
    return environment.get_template("report.html")


def data_uri(content: bytes, kind: str = "image/png") -> str:
    """Return a picture as a ``data:`` address."""
    return f"data:{kind};base64," + base64.b64encode(content).decode("ascii")


def _content(
    report: Report,
    checks: Sequence[Check],
    pictures: Sequence[Picture],
    brief: Brief,
    written: datetime,
    moving: bytes,
) -> dict[str, Any]:
    sections = tuple(_sections(report, checks, pictures))
    return {
        "report": report,
        "verdict_word": STATUS_WORDS[report.verdict],
        "headline": first_sentence(report, checks),
        "lock_words": LOCK_WORDS.get(report.base.lock, report.base.lock),
        "sections": sections,
        "to_change": [(section, *_foremost(section)) for section in sections if any(map(_to_change, section.entries))],
        "small": any(picture.small for picture in pictures),
        "worn": [picture for picture in pictures if not picture.check],
        "limits": list(_limit_rows(report)),
        "materials": sorted({part.get("material", "") for part in report.inputs.get("parts", ())} - {""}),
        "brief": brief,
        "meanings": MEANINGS,
        "safety": SAFETY,
        "cautions": _cautions(sections),
        "shapes": SHAPES,
        "status_words": STATUS_WORDS,
        "palette": palette,
        "written": f"{written.day} {written:%B %Y, %H:%M} UTC",
        "seconds": with_unit(sum(result.seconds for result in report.checks), "s"),
        "moving": data_uri(moving, "image/gif") if moving else "",
        "script": SCRIPT,
        "script_hash": base64.b64encode(hashlib.sha256(SCRIPT.encode()).digest()).decode("ascii"),
        "counted": counted,
    }


def _sections(report: Report, checks: Sequence[Check], pictures: Sequence[Picture]) -> Iterator[Section]:
    known = {check.id: check for check in checks}
    letters, told_by = check_letters(report, checks), report.told_by()
    for result in report.checks:
        check = known.get(result.id)
        keys = key_figures(result, check) if result.status != Status.NOT_CHECKED else ()
        yield Section(
            letter=letters[result.id],
            result=result,
            check=check,
            word=STATUS_WORDS[result.status],
            question=check.question if check else result.id.replace("_", " "),
            rows=tuple(FigureRow(figure, strip_svg(figure)) for figure in keys),
            figures=all_figures(result, check),
            entries=tuple(_entries(result, letters[result.id], told_by, limits_of(report, check))),
            pictures=tuple(shot for shot in pictures if shot.check == result.id and not is_step(shot.name)),
            steps=tuple(shot for shot in pictures if shot.check == result.id and is_step(shot.name)),
            plots=tuple(draw_plots(result, report.limits, check)),
        )


def _entries(result: CheckResult, letter: str, told_by: Mapping[str, str], limits: Listed) -> Iterator[Entry]:
    for number, (name, finding) in enumerate(result.numbered(), start=1):
        accepted = finding.exception is not None
        yield Entry(
            label=f"{letter}{number}",
            id=name,
            finding=finding,
            word="Accepted" if accepted else SEVERITY_WORDS[finding.severity],
            mark="accepted" if accepted else str(finding.severity),
            value=with_unit(finding.value, finding.unit),
            limit=limit_said(finding, limits) if math.isfinite(finding.limit) else "",
            place=", ".join(f"{coordinate:.1f}" for coordinate in finding.at_mm),
            told_by=told_by.get(name, ""),
        )


def _foremost(section: Section) -> tuple[list[Entry], list[Entry]]:
    """Return the worst few findings that ask for a change, and the rest of those."""
    asking = [entry for entry in section.entries if _to_change(entry)]
    return asking[:FOREMOST], asking[FOREMOST:]


def _to_change(entry: Entry) -> bool:
    found = entry.finding
    return found.exception is None and found.severity != Severity.INFO and not entry.told_by


def _limit_rows(report: Report) -> Iterator[Mapping[str, str]]:
    for name, entry in report.limits.items():
        yield {
            "name": name,
            "value": with_unit(float(entry["value"]), entry["unit"]),
            "basis": entry.get("basis", ""),
            "bounds": f"{entry['least']:g} to {entry['most']:g}" if "least" in entry else "",
            "reason": entry["reason"],
            "source": entry["source"],
        }


def _cautions(sections: Sequence[Section]) -> list[str]:
    return list(dict.fromkeys(section.check.caution for section in sections if section.check and section.check.caution))
