"""The page of a comparison: the answer, both revisions under a slider, the change painted, and what it rests on."""

import base64
import hashlib
import importlib.util
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

from ..model.finding import STATUS_WORDS
from ..model.progress import Job, Progress
from ..model.version import VERSION
from ..report import palette
from ..report.page import SHAPES, data_uri
from ..report.pictures.studio import Picture
from ..report.verdict import SAFETY
from ..report.whole_files import write_whole
from ..report.wording import with_unit
from ..report.writing import LIBRARIES, MissingLibraries
from .comparison import CHANGED, STILL, Comparison
from .comparison_pictures import ViewPictures, difference_pictures
from .comparison_words import QUESTION, answered, base_words, figure_words, printed, shift_line, way
from .deciders import WHO, Alternative, alternative
from .design_change import GroupChange

ANSWERS = {STILL: "Yes", CHANGED: "No", "unknown": "Not known"}
ANSWER_SIGNS = {STILL: "pass", CHANGED: "fail", "unknown": "not_checked"}
"""The status whose ink and shape stand beside each answer."""
TEMPLATES = resources.files(__package__).joinpath("templates")


@dataclass(frozen=True)
class Illustrated:
    """A comparison with its pictures."""

    comparison: Comparison
    views: tuple[ViewPictures, ...]


def write_comparison(steps: Sequence[Comparison], out: Path) -> Job[list[Path]]:
    """Write ``comparison.json``, ``comparison.html`` and the pictures of a chain of comparisons.

    Parameters
    ----------
    steps
        Each revision against the one before it.
    out
        The folder; made when missing.

    Raises
    ------
    MissingLibraries
        Without Jinja2 or Pillow.
    UnwritableOutput
        When the folder cannot be written. Nothing is left half written.
    """
    missing = [LIBRARIES[name] for name in ("jinja2", "PIL") if importlib.util.find_spec(name) is None]
    if missing:
        raise MissingLibraries(missing)
    shown = []
    for comparison in steps:
        shown.append(Illustrated(comparison, (yield from difference_pictures(comparison))))
    yield Progress(1, 1, f"writing {out}")
    contents = {"comparison.json": printed(steps).encode(), "comparison.html": comparison_html(shown).encode()}
    for number, each in enumerate(shown, 1):
        for picture in (picture for view in each.views for picture in view.all()):
            contents[f"pictures/{number}-{picture.name}.png"] = picture.png
    return write_whole(out, contents)


def comparison_html(shown: Sequence[Illustrated]) -> str:
    """Return the page as text; it holds its pictures and asks for nothing else.

    Raises
    ------
    ImportError
        Without Jinja2.
    """
    import jinja2

    script = TEMPLATES.joinpath("comparison.js").read_text(encoding="utf-8")
    loader = jinja2.FileSystemLoader(str(TEMPLATES))
    environment = jinja2.Environment(loader=loader, autoescape=True, trim_blocks=True, lstrip_blocks=True)
    environment.filters |= {"data_uri": data_uri, "with_unit": with_unit, "figure_words": figure_words}
    return environment.get_template("comparison.html").render(
        steps=[_content(each) for each in shown],
        abreast=list(_abreast(shown)),
        who=WHO,
        question=QUESTION,
        palette=palette,
        shapes=SHAPES,
        status_words=STATUS_WORDS,
        safety=SAFETY,
        version=VERSION,
        script=script,
        script_hash=base64.b64encode(hashlib.sha256(script.encode()).digest()).decode("ascii"),
    )


@dataclass(frozen=True)
class Abreast:
    """A design beside the others: its part in this, its report, its picture if any, and whether its shape is new."""

    role: str
    alternative: Alternative
    picture: Picture | None
    reshaped: str = ""


def _abreast(shown: Sequence[Illustrated]) -> Iterator[Abreast]:
    """Yield the approved design and every newer one, in their order."""
    first = shown[0]
    yield Abreast("Approved", alternative(first.comparison.before), first.views[0].older if first.views else None)
    for each in shown:
        picture = each.views[0].newer if each.views else None
        yield Abreast("Newer", alternative(each.comparison.after), picture, _reshaped(each.comparison))


def _reshaped(comparison: Comparison) -> str:
    """Return what the director is asked of the newer shape, or ``""`` where it is the approved one."""
    shape = comparison.shape
    if shape is None:
        return "Whether its shape changed was not measured; look before approving it"
    if shape.same:
        return ""
    return f"Its shape differs by up to {with_unit(shape.max_mm, 'mm')}; no check says whether that is wanted"


def _content(shown: Illustrated) -> dict[str, Any]:
    comparison, shape = shown.comparison, shown.comparison.shape
    return {
        "comparison": comparison,
        "views": shown.views,
        "word": ANSWERS[comparison.answer],
        "sign": ANSWER_SIGNS[comparison.answer],
        "sentence": answered(comparison).split(": ", 1)[-1],
        "base": base_words(comparison),
        "groups": [_group(group, shape.within_mm) for group in shape.groups] if shape else [],
        "places": [{"rank": rank, "place": place, "way": way(place)} for rank, place in enumerate(shape.places, 1)]
        if shape
        else [],
        "shifts": [shift_line(shift) for shift in shape.shifts] if shape else [],
    }


def _group(group: GroupChange, within_mm: float) -> dict[str, Any]:
    change = group.change
    return {
        "name": group.name,
        "figures": [change.max_mm, change.mean_mm, change.percentile_mm(95.0), change.raised_mm, change.sunk_mm],
        "area_mm2": change.newer.area_over_mm2(within_mm),
    }
