"""One question of the family: what was measured, what is true, and whether the two agree."""

from collections.abc import Callable
from dataclasses import dataclass

ROWS = {}
"""Row id -> row, in the order they are written down."""


@dataclass(frozen=True)
class Answer:
    """A figure or a word against its truth.

    Attributes
    ----------
    measured, truth
        Said with their unit.
    right
        Whether they agree within the tolerance.
    used
        How much of the tolerance or the bound is used up, 0 to 1 where right; 0 for words.
    """

    measured: str
    truth: str
    right: bool
    used: float = 0.0


@dataclass(frozen=True)
class Row:
    """A question asked of one member through the public door."""

    id: str
    item: str
    asks: str
    answer: Callable[[], Answer]
    slow: bool = False

    @property
    def group(self):
        """Under what name the guide's table tells of it together with its like."""
        number, question = self.id.split("-")[:2]
        return "P" if number == "P" else f"{number}-{question}"


def row(row_id, item, asks, slow=False):
    """Enter a function that returns an ``Answer`` as a row of the table."""

    def enter(answer):
        if row_id in ROWS:
            raise ValueError(f"there is a row {row_id} already")
        ROWS[row_id] = Row(row_id, item, asks, answer, slow)
        return answer

    return enter


def near(measured, truth, tolerance, unit="mm"):
    """Return whether a figure is within a tolerance of the truth; nan never is."""
    off = abs(measured - truth)
    said = f"{measured:.2f} {unit}".strip(), f"{truth:.2f} ± {tolerance:.3g} {unit}".strip()
    return Answer(*said, bool(off <= tolerance), off / tolerance if tolerance else 0.0)


def within(measured, low, high, unit="mm"):
    """Return whether a figure is between two bounds; nan never is."""
    said = f"{measured:.2f} {unit}".strip(), f"{low:.2f} to {high:.2f} {unit}".strip()
    used = abs(2.0 * measured - low - high) / (high - low) if high > low else 0.0
    return Answer(*said, bool(low <= measured <= high), used)


def at_most(measured, most, unit="mm"):
    """Return whether a figure is no more than a bound; nan never is."""
    said = f"{measured:.2f} {unit}".strip(), f"at most {most:g} {unit}".strip()
    return Answer(*said, bool(measured <= most), measured / most if most else 0.0)


def at_least(measured, least, unit="mm"):
    """Return whether a figure is no less than a bound; nan never is."""
    said = f"{measured:.2f} {unit}".strip(), f"at least {least:g} {unit}".strip()
    return Answer(*said, bool(measured >= least), least / measured if measured else 0.0)


def one_of(measured, *allowed):
    """Return whether a word is one of those that are true."""
    return Answer(str(measured), " or ".join(allowed), str(measured) in allowed)


def none_of(measured, words):
    """Return whether a list is empty, as it should be; ``words`` says of what."""
    said = "; ".join(map(str, measured)) or "none"
    return Answer(said if len(said) < 160 else f"{said[:157]}...", f"no {words}", not measured)
