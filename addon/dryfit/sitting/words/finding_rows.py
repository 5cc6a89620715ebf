"""The list's rows: one a cause, each named by its fault; every count in the window is the number of these rows."""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from ...model.finding import Status

Said = str | Callable[[Any], str]
MASS, STRETCH, SHARE, AREA, GLUE = "g", "length / length at rest", "fraction of length", "mm2", "J/m2"
GLUE_LOAD, WAYS_OUT = "g/cm2", "of the ways out"
WHOLE = "whole design"
"""The place of a figure that lies beyond its limit in sum, and at no one place."""


def _below(low: str, high: str) -> Callable[[Any], str]:
    """Return words for a figure below its limit and for one above."""
    return lambda item: low if item.limited and item.value < item.limit else high


def _by_unit(words: Mapping[str, str], otherwise: str) -> Callable[[Any], str]:
    return lambda item: words.get(item.unit, otherwise)


def _of_breath(item: Any) -> str:
    if str(item.region).endswith(" ear"):
        return "Ear is covered"
    return "Breath is shut in" if item.unit == WAYS_OUT else "Breath is narrowed"


def _of_load(item: Any) -> str:
    if item.unit == MASS:
        return "Too heavy" if item.limited else "Held by nothing"
    return "Too heavy for its glue" if item.unit == GLUE_LOAD else "Pulls on the head"


FAULTS: Mapping[str, Said] = MappingProxyType(
    {
        "base_lock": "Base moved",
        "additive": "Dips below skin",
        "edge": _below("Blends too fast", "Rim too thick"),
        "thickness": _below("Too thin", "Too thick to move"),
        "closure": "Mouth stays open",
        "coverage": "Teeth show",
        "interference": "Runs into something",
        "strain": _by_unit(
            {STRETCH: "Stretched too far", SHARE: "Stretched too far", AREA: "Buckles", GLUE: "Pulls off its glue"},
            "Rim on moving skin",
        ),
        "blink": _below("Too near the eye", "Lids stay open"),
        "sightline": "Sight is cut",
        "airway": _of_breath,
        "load": _of_load,
        "release": "Held in the mould",
    }
)
"""A check -> what is wrong where it finds something."""
SAID: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "additive": {" adds nothing: ": "Adds nothing"},
        "edge": {
            " ends ": "Ends too near",
            " overlaps ": "Edges overlap",
            " is cast with ": "Thinner than it casts",
            " can be glued first": "None can go on first",
        },
        "release": {
            "ace hangs over": "Face hangs over",
            "The face under ": "Face hangs over",
            " of draft": "Little draft",
        },
    }
)
"""A check -> what tells findings apart that are not its usual fault: words of theirs -> what is wrong."""
NOTE = "info"
BESIDE = MappingProxyType(
    {
        "faces": "Surface is not sound",
        "stations": "Lips not face to face",
        "count": "A row of teeth alone",
        "teeth": "No such tooth",
        "mm3": "Counted once",
        "times": "Shrinks in curing",
    }
)
"""A unit -> what is told in it, whichever check finds it: nothing of that check's own fault."""


def fault_word(item: Any) -> str:
    """Return what is wrong in a few words: ``Dips below skin``; a check that nobody named says its own name."""
    if item.region == WHOLE:
        return str(item.message).partition(":")[0]
    if item.unit in BESIDE:
        return BESIDE[item.unit]
    for words, fault in SAID.get(item.check, {}).items():
        if words in item.message:
            return fault
    said = FAULTS.get(item.check, item.check.replace("_", " ").capitalize())
    return said if isinstance(said, str) else said(item)


def listed_places(bench: Any) -> list[int]:
    """Return the places of the findings that have a row: the worst of each cause, and notes where they are asked for.

    Findings of one cause are one row, accepted ones apart from open ones.
    """
    seen: set[tuple[str, bool]] = set()
    places = []
    for place, item in enumerate(bench.findings):
        key = (item.cause, bool(item.exception))
        if (item.severity == NOTE and not bench.notes) or (item.cause and key in seen):
            continue
        seen.add(key)
        places.append(place)
    return places


def rows_to_mend(bench: Any) -> int:
    """Return how many rows of the list are open and no notes."""
    items = [bench.findings[place] for place in listed_places(bench)]
    return sum(not item.exception and item.severity != NOTE for item in items)


def rows_accepted(bench: Any) -> int:
    """Return how many rows of the list are accepted."""
    return sum(bool(bench.findings[place].exception) for place in listed_places(bench))


def same_cause(bench: Any, finding: Any) -> list[Any]:
    """Return the other findings of a finding's cause, which have no row of their own."""
    if not finding.cause:
        return []
    alike = [item for item in bench.findings if item.cause == finding.cause and item.name != finding.name]
    return [item for item in alike if bool(item.exception) == bool(finding.exception)]


def count_words(bench: Any) -> str:
    """Return what the list holds, in figures that agree with its rows: ``3 places to mend · 1 accepted``.

    The sentence above counts causes, of which one may ask for a look at several places.
    """
    accepted, mend, old = rows_accepted(bench), rows_to_mend(bench), _rows_of_before(bench)
    nothing = "nothing to mend" if bench.verdict == Status.PASS else "nothing to mend where it was checked"
    older = f"{old} of them from before the last change" if old else ""
    words = [
        f"{mend} place{'s' * (mend != 1)} to mend" if mend else nothing,
        older,
        f"{accepted} accepted" if accepted else "",
    ]
    return " · ".join(word for word in words if word)


def _rows_of_before(bench: Any) -> int:
    """Return how many rows to mend are figures of a scene that is another one since."""
    outdated = {row.name for row in bench.checks if row.outdated}
    items = [bench.findings[place] for place in listed_places(bench)]
    return sum(item.check in outdated and not item.exception and item.severity != NOTE for item in items)
