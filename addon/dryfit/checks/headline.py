"""The one sentence that stands first, everywhere: what to change and by how much, or what is tightest of a pass.

The page, the board, the terminal, JSON, the sidebar and the stamp of a picture take it from here. It never says more
than is proved: what was not asked, what could not be measured and what changed since is said before anything else.
"""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..model.finding import Severity, Status
from ..model.sentences import capital
from .cause_words import listed, mm, named_object, saying_of
from .causes import causes
from .check import Check
from .deciding import is_own
from .registry import CHECKS

MOST_SAID = 2
"""So many causes are said in full; the others are counted."""
TIGHT = 0.5
"""A figure nearer to its limit than this share of it is worth naming as the tightest."""
MOST_TIGHT = 2
MOST_WORDS = 30
"""A sentence of more words is left for the rows beneath it."""
TOPICS: Mapping[str, str] = {
    "base_lock": "the locked base", "additive": "depth below the skin", "edge": "edges", "thickness": "walls",
    "closure": "closing mouth", "coverage": "covered teeth", "interference": "collisions", "strain": "stretch",
    "blink": "blinking", "sightline": "sight", "airway": "breath", "load": "weight", "release": "moulds",
}  # fmt: skip
"""What a check asks about, in few words; one that is not named here is said by its id."""


@dataclass(frozen=True)
class Margin:
    """A figure that keeps its limit: in words, and the share of the limit that it uses."""

    words: str
    used: float


def topic(check: str) -> str:
    """Return what a check asks about, in few words."""
    return TOPICS.get(check, check.replace("_", " "))


def headline(report: Mapping[str, Any], checks: Sequence[Check] = CHECKS, outdated: Collection[str] = ()) -> str:
    """Return a report in one sentence or a few: what was asked, then what is to be done.

    Parameters
    ----------
    report
        In the layout of the JSON Schema; only the checks that were run.
    checks
        The checks that there are.
    outdated
        Ids of checks whose answers no longer hold.
    """
    asked = [check["id"] for check in report["checks"]]
    if not asked:
        return "Nothing was asked yet."
    said = [*_before(len(asked), len(checks), outdated)]
    found = causes(report, outdated)
    lacking = [check["id"] for check in report["checks"] if _unanswered(check, outdated)]
    whole = len(asked) >= len(checks) and not lacking and not outdated
    said += _wrong(found, report) if found else [_sound(report, checks, whole, outdated)]
    said += _not_answered(lacking) if lacking else []
    return " ".join(filter(None, said))


def _unanswered(check: Mapping[str, Any], outdated: Collection[str]) -> bool:
    return check["id"] not in outdated and (check["status"] == Status.NOT_CHECKED or bool(check["reason"]))


def _before(asked: int, known: int, outdated: Collection[str]) -> Iterator[str]:
    """Yield what must be said first: how little was asked, and how much of it no longer holds."""
    if asked < known:
        yield f"{asked} of {known} questions asked."
    if outdated:
        yield f"{len(outdated)} {'answer is' if len(outdated) == 1 else 'answers are'} older than the design."


def _wrong(found: Sequence[Any], report: Mapping[str, Any]) -> list[str]:
    """Return the foremost causes in a sentence each, and how many others there are; reviews never before fails."""
    worst = [cause for cause in found if cause.severity == found[0].severity]
    sentences = [saying_of(cause, report).sentence for cause in worst[:MOST_SAID]]
    others = len(found) - len(sentences)
    if others:
        verb = "asks" if others == 1 else "ask"
        sentences.append(f"{others} more {'cause' if others == 1 else 'causes'} {verb} for a look.")
    return sentences


def _sound(report: Mapping[str, Any], checks: Sequence[Check], whole: bool, outdated: Collection[str]) -> str:
    """Return what is said where nothing was found: what is tightest against its limit."""
    answered = [check for check in report["checks"] if check["status"] == Status.PASS and check["id"] not in outdated]
    if not answered:
        return "No verdict yet."
    accepted = sum(
        entry["exception"] is not None and entry["severity"] != Severity.INFO
        for check in answered for entry in check["findings"]
    )  # fmt: skip
    lead = "Build it" if whole else "Nothing found so far"
    given = f", with {accepted} {'finding' if accepted == 1 else 'findings'} accepted in writing" if accepted else ""
    tight = ", ".join(margin.words for margin in tightest(answered, checks)[:MOST_TIGHT])
    return f"{lead}{given}; tightest: {tight}." if tight else f"{lead}{given}."


def tightest(results: Sequence[Mapping[str, Any]], checks: Sequence[Check] = CHECKS) -> list[Margin]:
    """Return the figures that come nearest to their limits, the nearest first; those with plenty of room are left out.

    Parameters
    ----------
    results
        Checks that pass, in the layout of the JSON Schema.
    checks
        The checks that there are, for their words.
    """
    known = {check.id: check for check in checks}
    found = [margin for result in results for margin in _margins(result, known.get(result["id"]))]
    return sorted((margin for margin in found if TIGHT < margin.used <= 1.0), key=lambda margin: -margin.used)


def _margins(result: Mapping[str, Any], check: Check | None) -> Iterator[Margin]:
    noted: dict[str, Margin] = {}
    for measure, bound in result.get("judged", {}).items():
        value, limit = result["measures"].get(measure), bound["value"]
        if not is_own(measure, value, result["measures"]) or value < 0 or not limit or limit < 0:
            continue
        used = limit / value if bound["at_least"] and value else value / limit
        unit = next((unit for ending, unit in UNITS.items() if measure.endswith(ending)), None)
        if unit is not None:
            yield Margin(f"{_measure_words(measure, check)} {unit(value)} (limit {unit(limit)})", used)
    for entry in result["findings"]:
        limit, value, unit = entry["limit"], entry["value"], entry["unit"]
        if entry["severity"] != Severity.INFO or entry["exception"] is not None or unit != "mm":
            continue
        if limit and value is not None and limit > 0 and "limit" in entry["message"]:
            words = f"{entry['region']} edge" if "edge" in entry["message"] else named_object(entry["object"])
            if words not in noted or value / limit > noted[words].used:
                noted[words] = Margin(f"{words} {mm(value).removesuffix(' mm')} of {mm(limit)}", value / limit)
    yield from noted.values()


def _measure_words(measure: str, check: Check | None) -> str:
    leading = {figure.measure: figure.words for figure in check.leading} if check else {}
    return SHORT.get(measure) or leading.get(measure) or measure.removesuffix("_mm").replace("_", " ")


UNITS: Mapping[str, Callable[[float], str]] = {
    "_mm": mm,
    "_g": lambda value: f"{value:.0f} g",
    "_deg": lambda value: f"{value:.0f}°",
    "_n_cm": lambda value: f"{value:.0f} N·cm",
}
"""Ending of a measure's name -> how its figure is said."""
SHORT: Mapping[str, str] = {
    "min_interior_mm": "wall", "rim_thickness_p95_mm": "edge", "max_opening_mm": "opening",
    "residual_gap_mm": "lip gap", "blend_width_median_mm": "blend", "display_height_mm": "tooth shown",
    "lips_travel_mm": "lips' way", "max_depth_mm": "depth below the skin",
}  # fmt: skip
"""Names of figures short enough for the first line."""


def _not_answered(lacking: Sequence[str]) -> list[str]:
    """Return which questions have no answer."""
    count = len(lacking)
    named = listed([topic(name) for name in lacking]) if count <= 3 else ""
    return [
        capital(f"{count} {'question' if count == 1 else 'questions'} not answered{f': {named}' if named else ''}.")
    ]
