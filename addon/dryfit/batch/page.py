"""The comparison page of a batch: every variant and check in one table, two of them side by side; a page a thousand."""

import base64
import hashlib
import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any
from urllib.parse import quote

from ..checks.check import Check, Plotted
from ..checks.registry import CHECKS
from ..model.finding import STATUS_WORDS, Status
from ..model.scale_colours import scale_of
from ..model.version import VERSION
from ..report import palette
from ..report.page import SHAPES
from ..report.plots import curve_title
from ..report.verdict import SAFETY
from ..report.wording import measure_said
from .approved import APPROVED
from .board_head import NO_HEAD, BoardHead
from .board_pictures import FOLDER, OPEN, STEP_MM, UNMEASURED, ZERO
from .comparison import CHANGED, STILL, UNKNOWN
from .row import UNUSABLE, WORST_FIRST, Row, worst_first

VIEWS = (
    ("front", "worn-front", "Front"),
    ("three-quarter-left", "worn-three-quarter-left", "Three-quarter, performer's left"),
    ("profile-left", "worn-profile-left", "Profile, performer's left"),
    (OPEN, "worn-front-open", "Front, mouth open"),
)
"""Pictures taken for the page, what stands in for each where there are only a report's, and their words."""
WORDS: Mapping[str, str] = {**{str(status): word for status, word in STATUS_WORDS.items()}, "unusable": "Unusable"}
AGAINST: Mapping[str, str] = {STILL: "Unchanged", CHANGED: "Changed", UNKNOWN: "Not known", APPROVED: "Approved"}
"""What the page calls the answers to whether a variant is still the approved one."""
RANK: Mapping[str, int] = {word: place for place, word in enumerate((*WORST_FIRST, ""))}
"""Place of a verdict, or of a check's status, worst lowest; ``""`` is a check that was not asked."""
PASSING = RANK[Status.PASS] - 0.5
"""A check that passes has this rank or more: its leading figure moves it by less than half a place."""
PER_PAGE = 1000
"""Variants on one page: a browser sorts and sieves these at once (see scripts/bench_results)."""
MOST_MM = 1e6
"""Farther than any two designs lie apart."""
ROOM = "room/room.html"
"""Where the room of the performer is linked from, where somebody had it written beside the reports."""
TEMPLATES = resources.files(__package__).joinpath("templates")
SCRIPTS = ("index.js", "pair.js", "abreast.js", "curves.js", "address.js")


@dataclass(frozen=True)
class Cell:
    """One check of one variant: status, the figure that decided, its limit, and what it sorts by, worst lowest."""

    check: str
    status: str
    said: str
    rank: float
    limit: str = ""


@dataclass(frozen=True)
class Shown:
    """One variant as the table shows it; addresses hold any name.

    Attributes
    ----------
    row, number
        The variant, and its place on the page.
    link
        Address of its report, or ``""``.
    thumb
        Address of its small picture, or ``""``.
    pictures
        View -> address.
    folder, camera
        Where its heights are, and which camera it was taken with; ``""`` where there are none.
    rank
        Its verdict's place, worst lowest.
    change_rank
        Less the farther it is from the approved one; the approved one itself comes last, what is not known first.
    cells
        One for each check on the page.
    """

    row: Row
    number: int
    link: str
    thumb: str
    pictures: Mapping[str, str]
    folder: str
    camera: str
    rank: float
    change_rank: float
    cells: tuple[Cell, ...]


def index_pages(
    rows: Sequence[Row], out: Path, complete: bool, checks: Sequence[Check] = CHECKS, head: BoardHead = NO_HEAD
) -> Iterator[tuple[str, str]]:
    """Yield the names and texts of the pages, the last page first, so that none that links to it is written before it.

    Worst variants come first, ``PER_PAGE`` on each page. Pictures and reports are linked, so the folder can be moved
    as a whole.

    Parameters
    ----------
    rows
        The variants.
    out
        The batch's output, where the variants' reports lie.
    complete
        False where the batch was stopped half way.
    checks
        The checks that there are; those that were asked of any variant have a column.
    head
        What stands in the head.

    Raises
    ------
    ImportError
        Without Jinja2.
    """
    rows = sorted(worst_first(rows), key=_badness)
    asked = [check for check in checks if any(check.id in row.checks for row in rows)]
    names = [page_name(number) for number in range(1, max(1, math.ceil(len(rows) / PER_PAGE)) + 1)]
    whole = {
        "total": len(rows),
        "checks": asked,
        "complete": complete,
        "counts": {word: sum(row.verdict == status for row in rows) for status, word in WORDS.items()},
        "pages": names,
        "head": head.lines,
        "held": any(row.against for row in rows),
        "folded": [check.id for check in asked if _all_pass(rows, check)],
        "room": ROOM if (out / ROOM).is_file() else "",
    }
    for page, name in reversed([*enumerate(names)]):
        held = rows[page * PER_PAGE : (page + 1) * PER_PAGE]
        shown = [_shown(row, number, out, asked) for number, row in enumerate(held)]
        first = page * PER_PAGE + 1
        yield name, _template().render(**whole, rows=shown, first=first, curves=_curves(held, out, checks))


def _all_pass(rows: Sequence[Row], check: Check) -> bool:
    """Whether every variant passes a check: its column tells none of them from another."""
    answered = [row for row in rows if row.checks]
    return bool(answered) and all(row.checks.get(check.id) == Status.PASS for row in answered)


def page_name(number: int) -> str:
    """Return the file name of a page, counted from 1."""
    return "index.html" if number == 1 else f"index-{number}.html"


@cache
def _template() -> Any:
    """Return the page's template with all that is the same on every page."""
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(str(TEMPLATES)), autoescape=True, trim_blocks=True, lstrip_blocks=True
    )
    script = "\n".join(TEMPLATES.joinpath(name).read_text(encoding="utf-8") for name in SCRIPTS)
    same = {
        "views": [(view, words) for view, _, words in VIEWS],
        "palette": palette,
        "signs": {status: _sign_address(status) for status in WORDS},
        "words": WORDS,
        "safety": SAFETY,
        "version": VERSION,
        "per_page": PER_PAGE,
        "heights": {"zero": ZERO, "step": STEP_MM, "unmeasured": UNMEASURED},
        "colours": [[round(255 * channel) for channel in colour] for colour in scale_of(diverging=True)],
        "passing": PASSING,
        "unanswered": (RANK[Status.NOT_CHECKED], RANK[""], RANK[UNUSABLE]),
        "against": AGAINST,
        "script": script,
        "script_hash": base64.b64encode(hashlib.sha256(script.encode()).digest()).decode("ascii"),
    }
    return environment.get_template("index.html", globals=same)


def _sign_address(status: str) -> str:
    """Return a status's shape in its ink as a ``data:`` address: drawn once, not once for every cell of the table."""
    known = status if status in palette.STATUS_INKS else "fail"
    ink = f"#{palette.STATUS_INKS[known]}"
    style = (
        f"svg{{fill:{ink}}}.in,.on,.out{{fill:none;stroke-width:2.6;stroke-linecap:round;stroke-linejoin:round}}"
        f".in{{stroke:#fff}}.on{{stroke:{ink}}}.out{{stroke:{ink};stroke-width:2.2;stroke-dasharray:4 3}}"
    )
    drawing = SHAPES[Status(known)]
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 24 24"><style>{style}</style>{drawing}</svg>'
    return "data:image/svg+xml," + quote(svg)


def _badness(row: Row) -> float:
    """Return a verdict's place, lower the more of its checks fail, and then the more are to be reviewed."""
    counted = [sum(status == word for status in row.checks.values()) for word in (Status.FAIL, Status.REVIEW)]
    return round(RANK[row.verdict] - counted[0] / 100.0 - counted[1] / 10_000.0, 4)


def _change_rank(row: Row) -> float:
    if row.against in (APPROVED, STILL):
        return 1.0 if row.against == APPROVED else 0.0
    return -MOST_MM if row.against == UNKNOWN else -1e-3 - (row.change_mm or 0.0)


def _shown(row: Row, number: int, out: Path, asked: Sequence[Check]) -> Shown:
    place, folder = out / row.folder, quote(row.folder)
    there = bool(row.folder)
    camera = _camera(place) if there else ""
    thumb = next((name for name in (f"{FOLDER}/thumb.jpg", "heatmaps/worn-front.png") if (place / name).is_file()), "")
    return Shown(
        row=row,
        number=number,
        link=f"{folder}/report.html" if there and (place / "report.html").is_file() else "",
        thumb=f"{folder}/{thumb}" if there and thumb else "",
        pictures=dict(_pictures(place, folder)) if there else {},
        folder=row.folder if camera else "",
        camera=camera,
        rank=_badness(row),
        change_rank=_change_rank(row),
        cells=tuple(_cell(row, check) for check in asked),
    )


def _pictures(place: Path, folder: str) -> Iterator[tuple[str, str]]:
    for view, instead, _ in VIEWS:
        for name in (f"{FOLDER}/{view}.png", f"heatmaps/{instead}.png"):
            if (place / name).is_file():
                yield view, f"{folder}/{name}"
                break


def _camera(place: Path) -> str:
    """Return which camera a variant's pictures were taken with; ``""`` where that is not known."""
    try:
        return str(json.loads((place / FOLDER / "camera.json").read_text(encoding="utf8"))["key"])
    except (OSError, ValueError, KeyError):
        return ""


def _cell(row: Row, check: Check) -> Cell:
    status, key = row.checks.get(check.id, ""), check.leading_figure
    decided = row.decided.get(check.id)
    if decided and status not in ("", "not_checked"):
        bad = math.atan(float(decided["badness"])) / math.pi
        return Cell(check.id, status, str(decided["said"]), round(RANK[status] - bad, 9), str(decided["limit"]))
    value = row.measures.get(f"{check.id}.{key.measure}") if key else None
    if key is None or not isinstance(value, int | float) or status in ("", "not_checked"):
        return Cell(check.id, status, "", RANK[status])
    badness = math.atan(-value if key.at_least else value) / math.pi
    said = measure_said(key.measure, value, check.says_yes_or_no(key.measure))
    return Cell(check.id, status, said, round(RANK[status] - badness, 9))


def _curves(rows: list[Row], out: Path, checks: Sequence[Check]) -> list[dict[str, Any]]:
    """Return the curves of all reports, those of one name together, with their labels."""
    groups: dict[str, dict[str, Any]] = {}
    for number, row in enumerate(rows):
        if not row.folder:
            continue
        for plotted, curve in _stored_curves(out / row.folder, checks):
            labels = [curve_title(plotted), curve["x_label"], curve["y_label"]]
            group = groups.setdefault(plotted.curve, {"labels": labels, "lines": []})
            group["lines"].append({"row": number, "x": _thinned(curve["x"]), "y": _thinned(curve["y"])})
    return list(groups.values())


def _thinned(values: Sequence[float | None]) -> list[float | None]:
    """Return figures short enough to hold hundreds of curves: four digits, finer than a screen shows."""
    return [None if value is None else float(f"{value:.4g}") for value in values]


def _stored_curves(folder: Path, checks: Sequence[Check]) -> Iterator[tuple[Plotted, dict[str, Any]]]:
    """Yield the curves of a report that are laid over other variants', with how they are plotted."""
    try:
        results = json.loads((folder / "report.json").read_text(encoding="utf8"))["checks"]
    except (OSError, ValueError, KeyError):
        return
    known = {result["id"]: result["curves"] for result in results}
    for check in checks:
        for plotted in check.plots:
            if plotted.compared and plotted.curve in known.get(check.id, {}):
                yield plotted, known[check.id][plotted.curve]
