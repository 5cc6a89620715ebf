"""A cause in one plain sentence: what is wrong and by how much, and what to change by how much.

Every figure is one that a finding or a measure carries; nothing is worked out that was not measured. What a sentence
cannot be made of is said in the finding's own words.
"""

import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from ..model.sentences import capital
from .causes import MOUTH, Cause, Told

COUNT_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
LONGEST = 26
"""A finding's own sentence of more words than this is cut at the first pause."""
TOOTH = re.compile(r"the ((?:left|right) (?:upper|lower) [a-z ]+?)(?= against| meets| would| runs| by |$)")
SHORTEN = re.compile(r"shorten the (.+?) by ([\d.]+) mm")
MOVING = re.compile(r" in ([a-z_]+) at ")
HUNG = re.compile(r" hangs (\d+) g")
SAME_MM = 0.05
"""Amounts that differ by less are one amount."""


@dataclass(frozen=True)
class Saying:
    """A cause in words: what is wrong, and what to change (``""`` where nobody can say)."""

    wrong: str
    change: str = ""

    @property
    def sentence(self) -> str:
        """Both as one sentence."""
        return f"{capital(self.wrong)}; {self.change}." if self.change else f"{capital(self.wrong)}."


Measures = Mapping[str, Mapping[str, Any]]
"""Check id -> its measures."""


def saying_of(cause: Cause, report: Mapping[str, Any]) -> Saying:
    """Return a cause in words.

    Parameters
    ----------
    cause
        What comes of one thing.
    report
        The report it stands in, in the layout of the JSON Schema.
    """
    measures = {check["id"]: check["measures"] for check in report["checks"]}
    limits = {name: float(entry["value"]) for name, entry in report["limits"].items()}
    if cause.leading.entry["region"] == "landmarks" or any(told.entry["value"] is None for told in cause.findings):
        return _own_words(cause)
    names = {told.check for told in cause.findings}
    said = next((say for check, say in SAYINGS.items() if check in names), None)
    return (said(cause, measures, limits) if said else None) or _own_words(cause)


def mm(value: float) -> str:
    """Return a length as it is said in a sentence: to 0.1 mm, finer where it is smaller than 1 mm."""
    return f"{_short(value, 2 if abs(value) < 1.0 else 1)} mm"


def named_object(name: str) -> str:
    """Return an object's name as people say it: ``BronzeMedallion`` is ``bronze medallion``."""
    words = re.sub(r"(?<=[a-z0-9])(?=[A-Z])|(?<=[a-z])(?=[0-9])", " ", re.sub(r"[_.\-]", " ", name))
    return " ".join(words.split()).lower() or name


def sided(regions: Iterable[str]) -> str:
    """Return places in words, each with its article; left and right of one thing are both of it."""
    left = dict.fromkeys(regions)
    said = []
    for region in left:
        twin = region.replace("left", "right") if "left" in region else region.replace("right", "left")
        if twin != region and twin in left:
            bare = region.replace("left ", "").replace("right ", "")
            said.append(f"both {_plural(bare)}")
        else:
            said.append(f"the {region}")
    return listed(list(dict.fromkeys(said)))


def listed(words: Sequence[str]) -> str:
    """Return words with commas and an ``and``."""
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))


def _plural(words: str) -> str:
    head, of, rest = words.partition(" of ")
    return f"{head}s{of}{rest}"


def _short(value: float, decimals: int) -> str:
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _number(values: Mapping[str, Any], name: str) -> float:
    value = values.get(name)
    return float(value) if isinstance(value, int | float) else math.nan


def _own_words(cause: Cause) -> Saying:
    """Return what the leading finding says itself, short, and its own mend."""
    entry = cause.leading.entry
    said = entry["message"].rstrip(".")
    for stop in (". ", "; ", ": ", " ("):
        if len(said.split()) > LONGEST:
            said = said.partition(stop)[0]
    for name in {told.entry["object"] for told in cause.findings}:
        said = said.replace(name, f"the {named_object(name)}")
    mend = entry["fix"].partition(", or ")[0].partition(" or ")[0]
    for name in {told.entry["object"] for told in cause.findings}:
        mend = mend.replace(name, f"the {named_object(name)}")
    return Saying(said, mend if len(mend.split()) + len(said.split()) <= LONGEST else "")


def _mouth(cause: Cause, measures: Measures, limits: Mapping[str, float]) -> Saying | None:
    """Return what is said of teeth that stop the jaw, show too much or run into something."""
    closure = measures.get("closure", {})
    teeth = _stopping(cause)
    apart_mm, lose_mm = _number(closure, "residual_gap_mm"), _number(closure, "must_lose_mm")
    if not teeth or not math.isfinite(apart_mm):
        return _shown(cause)
    amounts = _amounts(cause)
    most_mm = max([*amounts, lose_mm if math.isfinite(lose_mm) else 0.0])
    take = _taken(len(teeth), most_mm, all(abs(each - most_mm) < SAME_MM for each in amounts))
    if any(told.entry["unit"] == "mm" and not told.entry.get("cause") for told in cause.of("coverage")):
        plural = "are" if len(teeth) > 1 else "is"
        return Saying(f"{counted_teeth(teeth)} {plural} too long", f"{take}, then check again")
    hold = "hold" if len(teeth) > 1 else "holds"
    return Saying(f"{counted_teeth(teeth)} {hold} the lips {mm(apart_mm)} apart", take)


def _taken(count: int, most_mm: float, same: bool) -> str:
    if not most_mm > 0.0:
        return "shorten or move it" if count == 1 else "shorten or move them"
    if count == 1:
        return f"take {mm(most_mm)} off it"
    if not same:
        return f"up to {mm(most_mm)} off each"
    return f"take {mm(most_mm)} off {'both' if count == 2 else 'each'}"


def _stopping(cause: Cause) -> list[str]:
    """Return the names of the teeth or pieces that keep the mouth from shutting, each once."""
    causes = [told.entry.get("cause") or "" for told in cause.findings if told.check in ("closure", "interference")]
    pieces = [words.partition(" against ")[0].removeprefix("the ").strip("'") for words in causes if words]
    return list(dict.fromkeys(pieces))


def _amounts(cause: Cause) -> list[float]:
    """Return by how much each tooth that stops the mouth is to be shortened, mm."""
    found = {match[1]: float(match[2]) for told in cause.of("closure") for match in SHORTEN.finditer(told.entry["fix"])}
    return list(found.values())


def counted_teeth(names: Sequence[str]) -> str:
    """Return teeth in few words: ``lower canines``, ``four upper incisors``."""
    bare = {name.replace("left ", "").replace("right ", "") for name in names}
    if len(names) == 1:
        return f"the {names[0]}"
    if len(bare) == 1:
        return f"{_plural(bare.pop())}"
    kinds = {name.split()[-1] for name in bare}
    rows = {name.split()[0] for name in bare}
    kind = kinds.pop() if len(kinds) == 1 else "tooth"
    row = f"{rows.pop()} " if len(rows) == 1 and rows <= {"upper", "lower"} else ""
    count = COUNT_WORDS[len(names)] if len(names) < len(COUNT_WORDS) else str(len(names))
    return f"{count} {row}{'teeth' if kind == 'tooth' else _plural(kind)}"


def _shown(cause: Cause) -> Saying | None:
    """Return what is said of teeth that show too much with the mouth shut."""
    shown = cause.of("coverage")
    if not shown:
        return None
    worst = max(shown, key=lambda told: float(told.entry["value"] or 0.0))
    limit, value = worst.entry["limit"], worst.entry["value"]
    if worst.entry["unit"] != "mm" or value is None or limit is None:
        return None
    names = list(dict.fromkeys(told.entry["region"] for told in shown))
    show = "show" if len(names) > 1 else "shows"
    return Saying(f"{counted_teeth(names)} {show} {mm(value)}, where {mm(limit)} is usual", _fix(worst))


def _fix(told: Told) -> str:
    return str(told.entry["fix"]).replace(told.entry["object"], f"the {named_object(told.entry['object'])}")


def _below(cause: Cause, measures: Measures, limits: Mapping[str, float]) -> Saying | None:
    """Return what is said of a piece that dips below the skin, and of the wall that it lacks there."""
    low, thin = cause.of("additive"), cause.of("thickness")
    if not low:
        return _thin(cause)
    deep_mm = max(float(told.entry["value"]) for told in low)
    wall_mm = max((_safe_wall_mm(told) for told in thin), default=limits.get("interior_mm", 0.0))
    places = list(dict.fromkeys(map(_region, low)))
    whole_mm = math.ceil((deep_mm + wall_mm) * 2.0 - 0.05) / 2.0
    plural = len(places) > 1
    return Saying(
        f"{sided(places)} {'are' if plural else 'is'} {'up to ' if plural else ''}{mm(deep_mm)} inside the performer",
        f"raise {'them' if plural else 'it'} about {mm(whole_mm)}",
    )


def _region(told: Told) -> str:
    """Return where a finding is: its region, or its piece where there are no landmarks to name one by."""
    region = str(told.entry["region"])
    return named_object(told.entry["object"]) if region.startswith("point (") else region


def asked_wall_mm(fix: str) -> float | None:
    """Return the wall that a piece is to be built up to, mm, as a finding's mend says; None where it says none."""
    asked = re.search(r" to ([\d.]+) mm or more", fix)
    return float(asked[1]) if asked else None


def _safe_wall_mm(told: Told) -> float:
    """Return the wall that a finding about a thin place asks for, mm: what it is to be built up to, or its limit."""
    asked = asked_wall_mm(told.entry["fix"])
    return float(told.entry["limit"] or 0.0) if asked is None else asked


def _thin(cause: Cause) -> Saying | None:
    thin = [told for told in cause.of("thickness") if " thick at" in told.entry["message"]]
    thin = [told for told in thin if told.entry["limit"] is not None and told.entry["value"] is not None]
    if not thin or not thin[0].entry["value"] < thin[0].entry["limit"]:
        return None
    worst = min(thin, key=lambda told: float(told.entry["value"]))
    where = sided(map(_region, thin))
    asked = _safe_wall_mm(worst)
    return Saying(
        f"the wall at {where} is {mm(worst.entry['value'])}, under {mm(worst.entry['limit'])}",
        f"build it up to {mm(asked)}",
    )


def _edge(cause: Cause, measures: Measures, limits: Mapping[str, float]) -> Saying | None:
    """Return what is said of a rim that is too thick."""
    thick = [told for told in cause.findings if told.entry["fix"].startswith("feather")]
    if not thick:
        return None
    worst = max(thick, key=lambda told: float(told.entry["value"]))
    lengths = [re.search(r"feather (\d+) mm of rim", told.entry["fix"]) for told in thick]
    over_mm = sum(float(found[1]) for found in lengths if found)
    return Saying(
        f"the edge at {sided(told.entry['region'] for told in thick)} is {mm(worst.entry['value'])} thick over "
        f"{mm(over_mm)}",
        f"feather it to {mm(worst.entry['limit'])}",
    )


def _strain(cause: Cause, measures: Measures, limits: Mapping[str, float]) -> Saying | None:
    """Return what is said of a piece that creases, or whose edge lies on moving skin."""
    worst, where = cause.leading.entry, sided(told.entry["region"] for told in cause.findings)
    found = MOVING.search(worst["message"])
    motion = found[1].replace("_", " ") if found else "movement"
    if worst["unit"] == "mm2" and "squeezed" in worst["message"]:
        return Saying(f"{motion} creases {where}", "thin the piece there, or lead the fold")
    if worst["unit"] == "mm" and "edge" in worst["message"]:
        longest_mm = max(float(told.entry["value"]) for told in cause.findings)
        return Saying(
            f"{motion} stretches the skin under {mm(longest_mm)} of edge at {where} (limit {mm(worst['limit'])})",
            "move that edge",
        )
    return None


def _load(cause: Cause, measures: Measures, limits: Mapping[str, float]) -> Saying | None:
    """Return what is said of a heavy piece."""
    entry = cause.leading.entry
    hung = HUNG.search(entry["message"]) if entry["unit"] == "g/cm2" else None
    if hung:
        return Saying(
            f"the {hung[1]} g {named_object(entry['object'])} pulls on its glue with {entry['value']:.1f} g/cm² "
            f"(limit {entry['limit']:g} g/cm²)",
            entry["fix"].partition(", ")[0],
        )
    if entry["unit"] != "g" or "in one piece" not in entry["message"]:
        return None
    return Saying(
        f"the {named_object(entry['object'])} weighs {entry['value']:.0f} g, over {entry['limit']:.0f} g in one piece",
        "give it a fixing of its own, or make it lighter",
    )


def _blink(cause: Cause, measures: Measures, limits: Mapping[str, float]) -> Saying | None:
    entry = cause.leading.entry
    taken = re.search(r"take ([\d.]+) mm off", entry["fix"])
    side = re.search(r"The (left|right) lids", entry["message"])
    if not taken or not side:
        return None
    return Saying(
        f"the {named_object(entry['object'])} holds the {side[1]} lids {mm(entry['value'])} apart",
        f"take {taken[1]} mm off it at the {entry['region']}",
    )


SAYINGS: Mapping[str, Callable[[Cause, Measures, Mapping[str, float]], Saying | None]] = MappingProxyType(
    {
        **dict.fromkeys(MOUTH, _mouth),
        "additive": _below,
        "thickness": _below,
        "edge": _edge,
        "strain": _strain,
        "load": _load,
        "blink": _blink,
    }
)
"""Check -> how a cause of its findings is said; None where its own words must do."""
