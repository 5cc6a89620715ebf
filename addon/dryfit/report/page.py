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

from ..checks.cause_words import named_object, saying_of
from ..checks.causes import causes
from ..checks.check import Check
from ..checks.headline import topic
from ..model.brief import Brief
from ..model.finding import SEVERITY_WORDS, STATUS_WORDS, Finding, Severity, Status
from ..model.limit_basis import MEANINGS
from ..model.report import CheckResult, Report
from ..model.sentences import capital
from . import palette
from .after import After
from .closing_steps import is_step
from .figures import Figure, all_figures, deciding_of, figure_of
from .gauge import strip_svg
from .held_against import Listed, limit_said, limits_of
from .labels import check_letters
from .pictures.studio import Picture
from .plots import Plot, draw_plots
from .verdict import SAFETY, first_sentence
from .wording import LOCK_WORDS, counted, with_unit

if TYPE_CHECKING:
    import jinja2

EVIDENCE = 2
"""So many more pictures stand on the printed first page."""
SCRIPT = resources.files(__package__).joinpath("templates", "report.js").read_text(encoding="utf-8")
SHAPES = {
    Status.PASS: '<circle cx="12" cy="12" r="10"/><path class="in" d="M7 12.5l3.4 3.4L17.2 8.8"/>',
    Status.REVIEW: '<path d="M12 1.5L22.5 12 12 22.5 1.5 12z"/><path class="in" d="M12 6.8v6.4M12 16.4v.4"/>',
    Status.FAIL: '<rect x="2" y="2" width="20" height="20" rx="2"/><path class="in" d="M7.5 7.5l9 9M16.5 7.5l-9 9"/>',
    Status.NOT_CHECKED: '<circle class="out" cx="12" cy="12" r="9.5"/><path class="on" d="M7.5 12h9"/>',
}
"""A tick in a disc, an exclamation in a diamond, a cross in a square, a dash in a broken ring."""


@dataclass(frozen=True)
class Step:
    """One cause as the page says it: what is wrong, what to change, the figure that decided, and its picture."""

    number: int
    mark: str
    word: str
    wrong: str
    change: str
    said: str
    ids: tuple[str, ...]
    others: int
    picture: Picture | None
    after: After | None = None


@dataclass(frozen=True)
class Entry:
    """A finding as the page says it; ``step`` is the number of the cause that it is told by, or 0."""

    label: str
    id: str
    finding: Finding
    word: str
    mark: str
    value: str
    limit: str
    place: str
    step: int


@dataclass(frozen=True)
class Section:
    """One check as the page says it."""

    letter: str
    result: CheckResult
    check: Check | None
    word: str
    question: str
    topic: str
    deciding: Figure | None
    strip: str
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
    after: Sequence[After] = (),
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
    after
        What mends come to, from ``after.after_mends``.

    Raises
    ------
    ImportError
        Without Jinja2.
    """
    return _template().render(_content(report, checks, pictures, brief, written, moving, after)).lstrip() + "\n"


@lru_cache(maxsize=1)
def _template() -> "jinja2.Template":
    """Return the page's template, compiled once: a batch fills it for every variant."""
    environment = page_environment()
    environment.filters["with_unit"] = with_unit
    environment.filters["css_text"] = css_text
    return environment.get_template("report.html")


def page_environment() -> "jinja2.Environment":
    """Return what pages made of the templates here are filled with; ``data_uri`` puts a picture into them.

    Raises
    ------
    ImportError
        Without Jinja2.
    """
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader(__package__, "templates"), autoescape=True, trim_blocks=True, lstrip_blocks=True
    )
    environment.filters["data_uri"] = data_uri
    return environment


def data_uri(content: bytes, kind: str = "image/png") -> str:
    """Return a picture as a ``data:`` address."""
    return f"data:{kind};base64," + base64.b64encode(content).decode("ascii")


def css_text(words: str) -> str:
    """Return words as the inside of a CSS string: what is no letter, figure or blank is written by its number."""
    return "".join(sign if sign.isalnum() or sign == " " else f"\\{ord(sign):06x}" for sign in words)


def _content(
    report: Report,
    checks: Sequence[Check],
    pictures: Sequence[Picture],
    brief: Brief,
    written: datetime,
    moving: bytes,
    after: Sequence[After],
) -> dict[str, Any]:
    steps = _steps(report, checks, pictures, after)
    sections = tuple(sorted(_sections(report, checks, pictures, steps), key=lambda section: section.result.status.rank))
    return {
        "report": report,
        "name": named_object(report.variant.name),
        "verdict_word": STATUS_WORDS[report.verdict],
        "headline": first_sentence(report, checks),
        "lock_words": LOCK_WORDS.get(report.base.lock, report.base.lock),
        "sections": sections,
        "steps": steps,
        "evidence": _evidence(steps, pictures),
        "accepted": [entry for section in sections for entry in section.entries if entry.mark == "accepted"],
        "small": any(picture.small for picture in pictures),
        "worn": [picture for picture in pictures if picture.name.startswith("worn-")],
        "limits": list(_limit_rows(report)),
        "materials": sorted({part.get("material", "") for part in report.inputs.get("parts", ())} - {""}),
        "brief": brief,
        "meanings": MEANINGS,
        "show": _show_words(brief),
        "decides": brief.show.decides,
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


def _show_words(brief: Brief) -> list[str]:
    """Return what the head of the sheet says of the show, without what the brief does not state."""
    show = brief.show
    revision = f"revision {show.revision}" if show.revision else ""
    performer = f"worn by {show.performer}" if show.performer else ""
    return [*filter(None, (show.title, show.character, performer, revision, show.date))]


def _steps(
    report: Report, checks: Sequence[Check], pictures: Sequence[Picture], after: Sequence[After]
) -> tuple[Step, ...]:
    """Return what to change, a row a cause, the worst first."""
    layout = report.to_dict()
    taken, mended = {picture.name: picture for picture in pictures}, {each.number: each for each in after}
    by_id, known = {entry["id"]: entry for entry in layout["checks"]}, {check.id: check for check in checks}
    steps = []
    for number, cause in enumerate(causes(layout), start=1):
        saying = saying_of(cause, layout)
        figure = figure_of(cause.leading.entry, by_id[cause.leading.check], known.get(cause.leading.check))
        steps.append(
            Step(
                number=number,
                mark=str(cause.severity),
                word=SEVERITY_WORDS[cause.severity],
                wrong=capital(saying.wrong),
                change=capital(saying.change),
                said=f"{figure.words}, {figure.said}{figure.against}",
                ids=tuple(told.id for told in cause.findings),
                others=len(cause.findings),
                picture=taken.get(f"fault-{number}"),
                after=mended.get(number),
            )
        )
    return tuple(steps)


def _evidence(steps: Sequence[Step], pictures: Sequence[Picture]) -> list[Picture]:
    """Return a few more pictures for the printed first page: the closest one of each check that tells of a cause."""
    if len(steps) != 1:
        return []
    told = list(dict.fromkeys(name.rpartition("-")[0] for step in steps for name in step.ids))
    close = [shot for check in told for shot in pictures if shot.check == check and shot.large]
    others = [shot for check in told for shot in pictures if shot.check == check and not shot.large]
    return (close + [shot for shot in others if not is_step(shot.name)])[:EVIDENCE]


def _sections(
    report: Report, checks: Sequence[Check], pictures: Sequence[Picture], steps: Sequence[Step]
) -> Iterator[Section]:
    known = {check.id: check for check in checks}
    letters = check_letters(report, checks)
    told = {name: step.number for step in steps for name in step.ids}
    layout = {entry["id"]: entry for entry in report.to_dict()["checks"]}
    for result in report.checks:
        check = known.get(result.id)
        deciding = deciding_of(layout[result.id], check)
        yield Section(
            letter=letters[result.id],
            result=result,
            check=check,
            word=STATUS_WORDS[result.status],
            question=check.question if check else result.id.replace("_", " "),
            topic=capital(topic(result.id)),
            deciding=deciding,
            strip=strip_svg(deciding) if deciding else "",
            figures=all_figures(result, check),
            entries=tuple(_entries(result, letters[result.id], told, limits_of(report, check))),
            pictures=tuple(shot for shot in pictures if shot.check == result.id and not is_step(shot.name)),
            steps=tuple(shot for shot in pictures if shot.check == result.id and is_step(shot.name)),
            plots=tuple(draw_plots(result, report.limits, check)),
        )


def _entries(result: CheckResult, letter: str, told: Mapping[str, int], limits: Listed) -> Iterator[Entry]:
    for number, (name, finding) in enumerate(result.numbered(), start=1):
        accepted = finding.exception is not None and finding.severity != Severity.INFO
        yield Entry(
            label=f"{letter}{number}",
            id=name,
            finding=finding,
            word="Accepted" if accepted else SEVERITY_WORDS[finding.severity],
            mark="accepted" if accepted else str(finding.severity),
            value=with_unit(finding.value, finding.unit),
            limit=limit_said(finding, limits) if math.isfinite(finding.limit) else "",
            place=", ".join(f"{coordinate:.1f}" for coordinate in finding.at_mm),
            step=told.get(name, 0),
        )


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
