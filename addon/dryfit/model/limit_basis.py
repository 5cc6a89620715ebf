"""What a limit rests on: a measurement that was seen, a practice without a source, or the project's own choice.

Each limit is a dataclass field that carries its unit, its reason, its word, what the word rests on and the least and
most value that make sense. Whoever prints a limit prints the word with it: a figure measured on many people and one
that somebody chose do not weigh the same.
"""

from collections.abc import Mapping
from dataclasses import Field, field
from enum import StrEnum
from typing import Any

NO_SOURCE = "common practice, no source"

Bounds = tuple[float, float]


class Basis(StrEnum):
    """The word a limit stands under."""

    MEASURED = "measured"
    PRACTICE = "practice"
    CHOICE = "choice"


MEANINGS: Mapping[Basis, str] = {
    Basis.MEASURED: "the source was seen: who measured what, on whom and how many",
    Basis.PRACTICE: "common in the trade, no published source",
    Basis.CHOICE: "the project's own, for the reason given; what it leans on is named",
}


def measured(value: float, unit: str, reason: str, *, source: str, people: str, what: str, bounds: Bounds) -> Any:
    """Declare a limit that somebody measured and published, in a text that was seen.

    Parameters
    ----------
    value, unit, reason
        The limit, in which unit, and what it says.
    source
        Who published it, with the year and the journal or number.
    people
        On whom or what it was measured, and how many.
    what
        What was measured, where it differs from what one would take it for.
    bounds
        The least and the most value that make sense.
    """
    words = {"source": f"{source}; {people}; {what}", "people": people}
    return _declared(value, unit, reason, Basis.MEASURED, bounds, words)


def practice(value: float, unit: str, reason: str, *, bounds: Bounds, recalled: str = "") -> Any:
    """Declare a limit that is common in the trade; ``recalled`` names a text that nobody looked up."""
    return _declared(value, unit, reason, Basis.PRACTICE, bounds, {"source": NO_SOURCE + _memory(recalled)}, recalled)


def choice(value: float, unit: str, reason: str, *, why: str, bounds: Bounds, recalled: str = "") -> Any:
    """Declare a limit that the project chose; ``why`` says why, ``recalled`` names a text not looked up."""
    words = {"source": f"the project's own choice: {why}{_memory(recalled)}"}
    return _declared(value, unit, reason, Basis.CHOICE, bounds, words, recalled)


def _memory(recalled: str) -> str:
    return f"; from memory, text not seen: {recalled}" if recalled else ""


def _declared(
    value: float, unit: str, reason: str, basis: Basis, bounds: Bounds, words: Mapping[str, str], recalled: str = ""
) -> Any:
    least, most = bounds
    carried = {"unit": unit, "reason": reason, **words, "basis": str(basis), "least": least, "most": most}
    return field(default=value, metadata={**carried, "from_memory": bool(recalled)})


def bounds_words(entry: "Field[Any]") -> str:
    """Return a limit's bounds as words: ``from 0 up to 0.5 mm``."""
    return f"from {entry.metadata['least']:g} up to {entry.metadata['most']:g} {entry.metadata['unit']}"


def within_bounds(entry: "Field[Any]", value: float) -> bool:
    """Tell whether a value of a limit makes sense."""
    return bool(entry.metadata["least"] <= value <= entry.metadata["most"])
